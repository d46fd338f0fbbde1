//! The charge air: what its figures rest on, what a denser charge means, and the series of readings that were fitted.

use maud::{Markup, PreEscaped, html};
use std::fmt::Write as _;

use super::ticked;
use crate::outcome::{Comparison, Outcome, SettlingSeries};
use crate::quantity::QuantityId;
use crate::report::{answer, number};

/// Size of a plot and of the room that its labels take, in pixels.
const SIZE: (f64, f64) = (480.0, 220.0);
const LEFT: f64 = 52.0;
const BOTTOM: f64 = 34.0;
const TOP: f64 = 12.0;

/// Points of a drawn curve.
const STEPS: u32 = 60;

/// The section; nothing where nothing is told of the charge air.
pub fn section(outcome: &Outcome) -> Markup {
    let series = &outcome.results.settling;
    html! {
        @if !outcome.grounds.is_empty() || !series.is_empty() {
            section {
                h2 { "Charge air" }
                @for row in &outcome.results.comparison {
                    @if row.quantity == QuantityId::DensityGain { p { (filling(outcome, row)) } }
                }
                @for sentence in &outcome.grounds { p { (ticked(sentence)) } }
                @for one in series { (plot(outcome, one)) }
            }
        }
    }
}

/// What the density says of filling the engine, and what it does not.
fn filling(outcome: &Outcome, row: &Comparison) -> String {
    let percent = |share: f64| number::typeset(100.0 * share, 1);
    let interval = match (row.difference.low, row.difference.high) {
        (Some(low), Some(high)) => format!(" ({} to {}\u{a0}%)", percent(low), percent(high)),
        _ => String::new(),
    };
    format!(
        "From the same compressor outlet and into the same cooling air, the charge leaves {} {}\u{a0}% denser{interval} than it \
         leaves {}. At the same engine speed about so much more air fills the cylinders; what that gives in power depends on \
         fuel, timing and the engine's limits, and is not told here.",
        answer::label(outcome, &row.candidate),
        percent(row.difference.value),
        answer::label(outcome, &outcome.results.baseline),
    )
}

/// Where numbers fall in a plot.
struct Axes {
    time: (f64, f64),
    skin: (f64, f64),
}

impl Axes {
    fn of(series: &SettlingSeries) -> Self {
        let mut time = (f64::INFINITY, f64::NEG_INFINITY);
        let mut skin = time;
        let widen = |range: &mut (f64, f64), value: f64| {
            *range = (range.0.min(value), range.1.max(value));
        };
        for point in &series.points {
            widen(&mut time, point.time);
            widen(&mut skin, point.skin);
        }
        let steady = series.steady.iter();
        steady
            .flat_map(|q| [Some(q.value), q.low, q.high])
            .flatten()
            .for_each(|value| widen(&mut skin, value));
        let room = |range: (f64, f64), least: f64| {
            let extra = 0.08 * (range.1 - range.0).max(least);
            (range.0 - extra, range.1 + extra)
        };
        Self {
            time: (time.0, time.1 + 0.5 * (time.1 - time.0)),
            skin: room(skin, 1.0),
        }
    }

    fn x(&self, time: f64) -> f64 {
        let share = (time - self.time.0) / (self.time.1 - self.time.0).max(1e-9);
        LEFT + share * (SIZE.0 - LEFT - 10.0)
    }

    fn y(&self, skin: f64) -> f64 {
        let share = (skin - self.skin.0) / (self.skin.1 - self.skin.0).max(1e-9);
        SIZE.1 - BOTTOM - share * (SIZE.1 - BOTTOM - TOP)
    }
}

/// Readings, the fitted curve and the steady skin with its interval.
fn plot(outcome: &Outcome, series: &SettlingSeries) -> Markup {
    let whose = format!(
        "{}, {}, {} tank",
        answer::label(outcome, &series.cooler),
        series.run,
        series.tank
    );
    let said = series.steady.as_ref().map_or_else(
        || "the series does not tell where the skin is going".to_owned(),
        |steady| {
            let value = number::value(steady, number::Kind::Level);
            let interval = number::interval(steady, number::Kind::Level);
            let interval = interval.map_or_else(String::new, |ends| format!(" ({ends})"));
            format!(
                "steady skin {value}{interval}, time constant {:.0}\u{a0}s",
                series.time_constant
            )
        },
    );
    html! {
        figure {
            (PreEscaped(drawing(series, &whose)))
            figcaption { (whose) ": " (said) "." }
        }
    }
}

/// The drawing; nothing in it but numbers comes from the session.
fn drawing(series: &SettlingSeries, whose: &str) -> String {
    let axes = Axes::of(series);
    let (width, height) = SIZE;
    let mut svg = String::new();
    let label = html! { (whose) }.into_string().replace('"', "&quot;");
    // Writing to a String cannot fail.
    let _ = write!(
        svg,
        "<svg viewBox=\"0 0 {width} {height}\" role=\"img\" aria-label=\"Skin over time, {label}\" \
         style=\"max-width:{width}px;width:100%\" font-size=\"11\" fill=\"currentColor\" stroke=\"none\">"
    );
    let (right, floor) = (width - 10.0, height - BOTTOM);
    if let Some(steady) = &series.steady {
        if let (Some(low), Some(high)) = (steady.low, steady.high) {
            let (top, bottom) = (axes.y(high), axes.y(low));
            let _ = write!(
                svg,
                "<rect x=\"{LEFT}\" y=\"{top:.1}\" width=\"{:.1}\" height=\"{:.1}\" opacity=\"0.15\"/>",
                right - LEFT,
                bottom - top
            );
        }
        let y = axes.y(steady.value);
        let _ = write!(
            svg,
            "<path d=\"M{LEFT} {y:.1}H{right}\" stroke=\"currentColor\" stroke-dasharray=\"5 3\"/>"
        );
        curve(&mut svg, series, steady.value, &axes);
    }
    for point in &series.points {
        let (x, y) = (axes.x(point.time), axes.y(point.skin));
        let _ = write!(svg, "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"3.5\"/>");
        let _ = write!(
            svg,
            "<text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{:.0} s</text>",
            floor + 14.0,
            point.time
        );
    }
    for skin in [axes.skin.0, 0.5 * (axes.skin.0 + axes.skin.1), axes.skin.1] {
        let _ = write!(
            svg,
            "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{skin:.0} °C</text>",
            LEFT - 5.0,
            axes.y(skin) + 4.0
        );
    }
    let _ = write!(
        svg,
        "<path d=\"M{LEFT} {TOP}V{floor}H{right}\" stroke=\"currentColor\" fill=\"none\"/></svg>"
    );
    svg
}

fn curve(svg: &mut String, series: &SettlingSeries, steady: f64, axes: &Axes) {
    let _ = write!(svg, "<path fill=\"none\" stroke=\"currentColor\" d=\"");
    for step in 0..=STEPS {
        let time = axes.time.0 + (axes.time.1 - axes.time.0) * f64::from(step) / f64::from(STEPS);
        let since = (time - axes.time.0) / series.time_constant;
        let skin = steady - series.amplitude * (-since).exp();
        let letter = if step == 0 { 'M' } else { 'L' };
        let _ = write!(svg, "{letter}{:.1} {:.1}", axes.x(time), axes.y(skin));
    }
    svg.push_str("\"/>");
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outcome::{Point, Q};
    use crate::quantity::Unit;
    use crate::report::fixture;

    #[test]
    fn a_series_is_drawn_with_its_steady_skin() {
        let mut outcome = fixture::outcome(true);
        outcome.grounds = vec!["The effectiveness rests on `skins`.".to_owned()];
        outcome.results.settling = vec![SettlingSeries {
            cooler: outcome.results.baseline.clone(),
            run: "hold \"1\" <b>".to_owned(),
            tank: "inlet".to_owned(),
            points: [(60.0, 61.0), (110.0, 70.6), (160.0, 75.2)]
                .map(|(time, skin)| Point { time, skin })
                .to_vec(),
            steady: Some(Q {
                value: 79.4,
                unit: Unit::Celsius,
                low: Some(78.0),
                high: Some(81.0),
                standard_uncertainty: Some(0.7),
            }),
            amplitude: 18.4,
            time_constant: 68.0,
        }];
        let page = section(&outcome).into_string();
        assert_eq!(page.matches("<circle").count(), 3);
        assert!(page.contains("steady skin") && page.contains("<code>skins</code>"));
        assert!(
            !page.contains("<b>") && !page.contains("hold \"1\" &lt;b&gt;\" "),
            "{page}"
        );
        assert!(!page.contains("NaN") && !page.contains("inf"));
    }

    #[test]
    fn without_charge_air_there_is_no_section() {
        assert_eq!(section(&fixture::outcome(true)).into_string(), "");
    }
}
