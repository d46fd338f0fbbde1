//! From inlet to outlet: the temperatures of all coolers in one plot, with their intervals and the cooling air.

use maud::{Markup, PreEscaped, html};
use std::fmt::Write as _;

use super::axis::Axis;
use crate::outcome::{CoolerResult, Outcome, Q};
use crate::quantity::QuantityId;
use crate::report::number::{self, Kind};

/// Size of the plot and of what its labels take, in pixels.
const SIZE: (f64, f64) = (400.0, 300.0);
const LEFT: f64 = 56.0;
const RIGHT: f64 = 18.0;
const TOP: f64 = 14.0;
const BOTTOM: f64 = 30.0;

/// Coolers that stand in one plot; more would lie on each other.
const MOST: usize = 6;

/// Between the coolers' points at one end, so that their intervals do not lie on each other.
const APART: f64 = 16.0;

/// What of a cooler is drawn: its marker's number, label, inlet and outlet.
struct Line<'a> {
    mark: usize,
    label: &'a str,
    ends: [Q; 2],
}

/// The plot with its legend; nothing where no cooler has both temperatures.
pub fn plot(outcome: &Outcome) -> Markup {
    let coolers = &outcome.results.coolers;
    let air = [QuantityId::InletCharge, QuantityId::OutletCharge];
    let skins = [QuantityId::InletSurface, QuantityId::OutletSurface];
    let has = |ids: [QuantityId; 2]| coolers.iter().all(|cooler| ends(cooler, ids).is_some());
    let (ids, what) = if has(air) {
        (air, "Charge air")
    } else {
        (skins, "Tank skins")
    };
    let lines: Vec<Line<'_>> = coolers
        .iter()
        .enumerate()
        .filter_map(|(mark, cooler)| {
            Some(Line {
                mark,
                label: &cooler.label,
                ends: ends(cooler, ids)?,
            })
        })
        .take(MOST)
        .collect();
    if lines.is_empty() {
        return html! {};
    }
    let cooling: Vec<f64> = outcome
        .conditions
        .iter()
        .filter_map(|run| run.cooling_air)
        .collect();
    let cooling = (!cooling.is_empty()).then(|| cooling.iter().sum::<f64>() / cooling.len() as f64);
    html! {
        section {
            h2 { "From inlet to outlet" }
            figure.ends {
                (PreEscaped(drawing(&lines, cooling, what)))
                figcaption {
                    (what) " as measured, mean over the holds, with 95\u{a0}% intervals. Inlet and weather may have differed between the \
                    coolers; the like-for-like figures allow for that."
                    ul.legend { @for line in &lines {
                        li { (PreEscaped(swatch(line.mark))) " " (line.label) }
                    } }
                }
            }
        }
    }
}

fn ends(cooler: &CoolerResult, [inlet, outlet]: [QuantityId; 2]) -> Option<[Q; 2]> {
    let of = |id| cooler.quantities.get(&id).copied();
    Some([of(inlet)?, of(outlet)?])
}

/// Steps that a scale of temperatures may have, K.
const STEPS: [f64; 9] = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0];

/// Most steps of the scale.
const MOST_STEPS: f64 = 6.0;

/// The scale with round numbers at both ends of everything that is drawn.
fn scale(values: impl Iterator<Item = f64>) -> Axis {
    let (low, high) = values
        .filter(|value| value.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
            (low.min(value), high.max(value))
        });
    Axis::over(low, high, &STEPS, MOST_STEPS, false)
}

/// How far down a temperature stands.
fn y(scale: &Axis, value: f64) -> f64 {
    SIZE.1 - BOTTOM - scale.share(value) * (SIZE.1 - BOTTOM - TOP)
}

/// The drawing; nothing in it but numbers and fixed words.
fn drawing(lines: &[Line<'_>], cooling: Option<f64>, what: &str) -> String {
    let of_line = |line: &Line<'_>| {
        line.ends
            .map(|q| [Some(q.value), q.low, q.high])
            .into_iter()
            .flatten()
            .flatten()
            .collect::<Vec<_>>()
    };
    let scale = scale(lines.iter().flat_map(of_line).chain(cooling));
    let (width, height) = SIZE;
    let mut svg = String::new();
    // Writing to a String cannot fail.
    let _ = write!(
        svg,
        "<svg viewBox=\"0 0 {width} {height}\" role=\"img\" aria-label=\"{}\" font-size=\"13\">",
        spoken(lines, cooling, what)
    );
    for tick in scale.numbers() {
        let y = y(&scale, tick);
        let _ = write!(
            svg,
            "<path class=\"grid\" d=\"M{LEFT} {y:.1}H{:.1}\"/><text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{} °C</text>",
            width - RIGHT,
            LEFT - 6.0,
            y + 4.5,
            number::typeset(tick, 0)
        );
    }
    let middle = 0.5 * (lines.len() as f64 - 1.0);
    let (inlet, outlet) = (LEFT + 60.0, width - RIGHT - 60.0);
    for (end, x) in [("inlet", inlet), ("outlet", outlet)] {
        let y = height - 9.0;
        let _ = write!(
            svg,
            "<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"middle\">{end}</text>"
        );
    }
    if let Some(cooling) = cooling {
        let y = y(&scale, cooling);
        let _ = write!(
            svg,
            "<path class=\"air\" d=\"M{LEFT} {y:.1}H{:.1}\"/><text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">cooling air</text>",
            width - RIGHT,
            0.5 * (inlet + outlet),
            y - 5.0
        );
    }
    for (place, line) in lines.iter().enumerate() {
        let aside = (place as f64 - middle) * APART;
        let at = [inlet + aside, outlet + aside];
        let [from, to] = line.ends.map(|q| y(&scale, q.value));
        let _ = write!(
            svg,
            "<g class=\"mark-{}\"><path class=\"line\" d=\"M{:.1} {from:.1}L{:.1} {to:.1}\"/>",
            line.mark, at[0], at[1]
        );
        for (q, x) in line.ends.iter().zip(at) {
            if let (Some(low), Some(high)) = (q.low, q.high) {
                let (low, high) = (y(&scale, low), y(&scale, high));
                let _ = write!(
                    svg,
                    "<path class=\"reach\" d=\"M{x:.1} {low:.1}V{high:.1}M{:.1} {low:.1}h8M{:.1} {high:.1}h8\"/>",
                    x - 4.0,
                    x - 4.0
                );
            }
            svg.push_str(&marker(line.mark, x, y(&scale, q.value)));
        }
        svg.push_str("</g>");
    }
    svg.push_str("</svg>");
    svg
}

/// A shape of its own for each cooler, so that colour need not tell them apart.
fn marker(mark: usize, x: f64, y: f64) -> String {
    match mark % 3 {
        0 => format!(
            "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"9\" height=\"9\"/>",
            x - 4.5,
            y - 4.5
        ),
        1 => format!("<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"5\"/>"),
        _ => format!("<path d=\"M{x:.1} {:.1}l5.5 9.5h-11z\"/>", y - 6.0),
    }
}

/// A cooler's line and marker beside its label.
fn swatch(mark: usize) -> String {
    format!(
        "<svg viewBox=\"0 0 34 14\" width=\"34\" height=\"14\" aria-hidden=\"true\"><g class=\"mark-{mark}\"><path class=\"line\" \
         d=\"M2 7H32\"/>{}</g></svg>",
        marker(mark, 17.0, 7.0)
    )
}

/// The plot in words, for those who listen to it.
fn spoken(lines: &[Line<'_>], cooling: Option<f64>, what: &str) -> String {
    let mut words = format!("{what} from inlet to outlet.");
    for line in lines {
        let [inlet, outlet] = line.ends.map(|q| number::value(&q, Kind::Level));
        let _ = write!(words, " {}: {inlet} to {outlet}.", line.label);
    }
    if let Some(cooling) = cooling {
        let _ = write!(words, " Cooling air {} °C.", number::typeset(cooling, 1));
    }
    html! { (words) }.into_string().replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    #[test]
    fn every_cooler_has_its_points_intervals_and_words() {
        let mut outcome = fixture::outcome(true);
        outcome.results.coolers[0].label = "Old \"one\" <b>".to_owned();
        let page = plot(&outcome).into_string();
        assert_eq!(page.matches("class=\"reach\"").count(), 4);
        assert!(page.contains("mark-0") && page.contains("mark-1"));
        assert!(page.contains("cooling air"));
        assert!(
            !page.contains("<b>") && !page.contains("\"one\" &lt;b&gt;: "),
            "{page}"
        );
        assert!(!page.contains("NaN") && !page.contains("inf"));
    }

    #[test]
    fn without_temperatures_there_is_no_plot() {
        let mut outcome = fixture::outcome(true);
        for cooler in &mut outcome.results.coolers {
            cooler.quantities.clear();
        }
        assert_eq!(plot(&outcome).into_string(), "");
    }

    #[test]
    fn the_scale_has_round_ends_beyond_the_values() {
        for (low, high, ends) in [
            (18.0, 64.0, (10.0, 70.0)),
            (20.0, 21.5, (20.0, 22.0)),
            (-3.0, 140.0, (-50.0, 150.0)),
        ] {
            let scale = scale([low, high].into_iter());
            assert_eq!((scale.low, scale.high), ends, "{low} to {high}");
        }
    }
}
