//! The series of readings that were fitted, drawn: readings, the curve, and where the skin was going.

use maud::{Markup, PreEscaped, html};
use std::fmt::Write as _;

use super::axis::Axis;
use crate::outcome::{Outcome, SettlingSeries};
use crate::report::{answer, number};

/// Size of a plot, in units of its own; its letters are 13 of them high.
const SIZE: (f64, f64) = (440.0, 264.0);

/// Room beside, above and below the field for labels.
const LEFT: f64 = 40.0;
const RIGHT: f64 = 12.0;
const TOP: f64 = 30.0;
const BOTTOM: f64 = 42.0;

/// Pieces of a drawn curve.
const PIECES: u32 = 60;

/// The plot goes on so much beyond the last reading, as a share of the series' length.
const BEYOND: f64 = 0.35;

/// All series, with a word on how to read them; nothing where there are none.
pub(super) fn figures(outcome: &Outcome) -> Markup {
    let all = &outcome.results.settling;
    html! {
        @if !all.is_empty() {
            p {
                "Where a tank was read three times or more in one hold, a curve through the readings tells where its skin was going. \
                 Dots are readings; the line is the curve, dashed after the last reading; the dash-dotted level is the steady skin, \
                 the band its 95\u{a0}% interval."
            }
            div.plots { @for series in all { (figure(outcome, series)) } }
        }
    }
}

fn figure(outcome: &Outcome, series: &SettlingSeries) -> Markup {
    let whose = format!(
        "{}, {}, {} tank",
        answer::label(outcome, &series.cooler),
        series.run,
        series.tank
    );
    let said = said(series);
    let readings: Vec<String> = series
        .points
        .iter()
        .map(|point| format!("{:.1} °C at {:.0} s", point.skin, point.time))
        .collect();
    let words = format!("Skin over time, {whose}: {}; {said}", readings.join(", "));
    html! {
        figure {
            svg.plot viewBox=(format!("0 0 {} {}", SIZE.0, SIZE.1)) role="img" aria-label=(words) {
                (PreEscaped(drawing(series)))
            }
            figcaption { (whose) ": " (said) "." }
        }
    }
}

/// What the series tells, in words.
fn said(series: &SettlingSeries) -> String {
    let Some(steady) = &series.steady else {
        return "it does not tell where the skin was going".to_owned();
    };
    let value = number::value(steady, number::Kind::Level);
    let interval = number::interval(steady, number::Kind::Level);
    let interval = interval.map_or_else(String::new, |ends| format!(" ({ends})"));
    format!(
        "steady skin {value}{interval}, time constant {:.0}\u{a0}s",
        series.time_constant
    )
}

/// Where numbers fall in a plot.
struct Field {
    time: Axis,
    skin: Axis,
}

impl Field {
    fn of(series: &SettlingSeries) -> Self {
        let ends = |values: &mut dyn Iterator<Item = f64>| {
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
                (low.min(value), high.max(value))
            })
        };
        let (first, last) = ends(&mut series.points.iter().map(|point| point.time));
        let steady = series.steady.iter();
        let steady = steady
            .flat_map(|q| [Some(q.value), q.low, q.high])
            .flatten();
        let skins = series.points.iter().map(|point| point.skin);
        let (low, high) = ends(&mut skins.chain(steady));
        // From the start of the hold, unless the series is far from it.
        let start = if first < last - first { 0.0 } else { first };
        let steps = [
            10.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1200.0, 1800.0, 3600.0,
        ];
        Self {
            time: Axis::over(start, last + BEYOND * (last - first), &steps, 8.0, true),
            skin: Axis::over(
                low - 0.5,
                high + 0.5,
                &[1.0, 2.0, 5.0, 10.0, 20.0, 50.0],
                7.0,
                false,
            ),
        }
    }

    fn x(&self, time: f64) -> f64 {
        LEFT + self.time.share(time) * (SIZE.0 - LEFT - RIGHT)
    }

    fn y(&self, skin: f64) -> f64 {
        SIZE.1 - BOTTOM - self.skin.share(skin) * (SIZE.1 - BOTTOM - TOP)
    }
}

/// The drawing's inside; nothing in it but numbers comes from the session.
fn drawing(series: &SettlingSeries) -> String {
    let field = Field::of(series);
    let mut svg = String::new();
    axes(&mut svg, &field);
    if let Some(steady) = &series.steady {
        let (left, right) = (LEFT, SIZE.0 - RIGHT);
        if let (Some(low), Some(high)) = (steady.low, steady.high) {
            let (top, bottom) = (field.y(high), field.y(low));
            put(
                &mut svg,
                format_args!(
                    "<rect class=\"band\" x=\"{left}\" y=\"{top:.1}\" width=\"{:.1}\" height=\"{:.1}\"/>",
                    right - left,
                    bottom - top
                ),
            );
        }
        let level = field.y(steady.value);
        put(
            &mut svg,
            format_args!("<path class=\"level\" d=\"M{left} {level:.1}H{right}\"/>"),
        );
        curve(&mut svg, series, steady.value, &field);
    }
    for point in &series.points {
        let (x, y) = (field.x(point.time), field.y(point.skin));
        put(
            &mut svg,
            format_args!("<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"4.5\"/>"),
        );
    }
    svg
}

/// Grid, numbers and what they are.
fn axes(svg: &mut String, field: &Field) {
    let (right, floor) = (SIZE.0 - RIGHT, SIZE.1 - BOTTOM);
    for skin in field.skin.numbers() {
        let y = field.y(skin);
        put(
            svg,
            format_args!(
                "<path class=\"grid\" d=\"M{LEFT} {y:.1}H{right}\"/>\
                 <text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
                LEFT - 6.0,
                y + 4.5,
                number::typeset(skin, 0)
            ),
        );
    }
    for time in field.time.numbers() {
        let x = field.x(time);
        put(
            svg,
            format_args!(
                "<path class=\"axis\" d=\"M{x:.1} {floor}v5\"/>\
                 <text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{}</text>",
                floor + 18.0,
                number::typeset(time, 0)
            ),
        );
    }
    put(
        svg,
        format_args!(
            "<path class=\"axis\" d=\"M{LEFT} {floor}H{right}\"/>\
             <text x=\"4\" y=\"14\">skin, °C</text>\
             <text x=\"{right}\" y=\"{:.1}\" text-anchor=\"end\">time, s</text>",
            SIZE.1 - 6.0
        ),
    );
}

/// T(t) = T_∞ − A exp(−t/τ) from the first reading on, in two parts: through the readings and after them.
fn curve(svg: &mut String, series: &SettlingSeries, steady: f64, field: &Field) {
    let times = || series.points.iter().map(|point| point.time);
    let (Some(first), Some(last)) = (times().next(), times().next_back()) else {
        return;
    };
    for (class, from, to) in [("fit", first, last), ("fit after", last, field.time.high)] {
        put(svg, format_args!("<path class=\"{class}\" d=\""));
        for piece in 0..=PIECES {
            let time = from + (to - from) * f64::from(piece) / f64::from(PIECES);
            let skin = steady - series.amplitude * (-(time - first) / series.time_constant).exp();
            let letter = if piece == 0 { 'M' } else { 'L' };
            put(
                svg,
                format_args!("{letter}{:.1} {:.1}", field.x(time), field.y(skin)),
            );
        }
        svg.push_str("\"/>");
    }
}

fn put(svg: &mut String, what: std::fmt::Arguments<'_>) {
    // Writing to a String cannot fail.
    let _ = svg.write_fmt(what);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outcome::{Point, Q};
    use crate::quantity::Unit;
    use crate::report::fixture;

    fn series(points: &[(f64, f64)], steady: Option<(f64, f64, f64)>) -> SettlingSeries {
        SettlingSeries {
            cooler: "original".to_owned(),
            run: "hold \"1\" <b>".to_owned(),
            tank: "inlet".to_owned(),
            points: points
                .iter()
                .map(|&(time, skin)| Point { time, skin })
                .collect(),
            steady: steady.map(|(value, low, high)| Q {
                value,
                unit: Unit::Celsius,
                low: Some(low),
                high: Some(high),
                standard_uncertainty: Some(0.25 * (high - low)),
            }),
            amplitude: 18.4,
            time_constant: 68.0,
        }
    }

    /// Every coordinate of the drawing lies on it.
    fn lies_within(svg: &str) {
        for part in svg.split("=\"").skip(1) {
            let number = part.split('"').next().unwrap();
            if let Ok(number) = number.parse::<f64>() {
                assert!((0.0..=SIZE.0).contains(&number), "{number} in {svg}");
            }
        }
        assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
    }

    #[test]
    fn a_series_is_drawn_with_its_steady_skin() {
        let mut outcome = fixture::outcome(true);
        let points = [(60.0, 61.0), (110.0, 70.6), (160.0, 75.2)];
        outcome.results.settling = vec![series(&points, Some((79.4, 78.0, 81.0)))];
        let page = figures(&outcome).into_string();
        assert_eq!(page.matches("<circle").count(), 3);
        assert_eq!(page.matches("class=\"band\"").count(), 1);
        assert!(page.contains("61.0 °C at 60 s, 70.6 °C at 110 s"), "{page}");
        assert!(page.contains("steady skin") && !page.contains("<b>"));
        lies_within(&drawing(&outcome.results.settling[0]));
    }

    #[test]
    fn what_is_not_told_is_not_drawn() {
        let open = series(&[(600.0, 40.0), (615.0, 40.0), (630.0, 40.0)], None);
        let svg = drawing(&open);
        assert!(!svg.contains("band") && !svg.contains("fit"), "{svg}");
        assert_eq!(svg.matches("<circle").count(), 3);
        lies_within(&svg);
        assert_eq!(said(&open), "it does not tell where the skin was going");
        assert_eq!(figures(&fixture::outcome(true)).into_string(), "");
    }
}
