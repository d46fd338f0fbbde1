//! Pulls: pressure drop against engine speed, as a plot and a table, and the loss fitted through it.

use std::fmt::Write as _;

use maud::{Markup, PreEscaped, html};

use super::axis::Axis;
use super::{table, ticked};
use crate::outcome::{Outcome, Pull};
use crate::report::{answer, number};

/// Size of the plot and of the room that its labels take, in pixels.
const SIZE: (f64, f64) = (560.0, 300.0);
const LEFT: f64 = 62.0;
const RIGHT: f64 = 22.0;
const BOTTOM: f64 = 40.0;
const TOP: f64 = 12.0;

/// The most pulls that are told apart by their marks; more share them again.
const MARKS: usize = 4;

/// The section; nothing where no log holds a pull.
pub fn section(outcome: &Outcome) -> Markup {
    let pulls = &outcome.results.pulls;
    html! {
        @if !pulls.is_empty() {
            section {
                h2 { "Pulls" }
                p { "Of each log the greatest rise of the engine speed, in steps of 100\u{a0}rpm: the mean pressure drop in each." }
                figure {
                    (PreEscaped(drawing(outcome)))
                    figcaption { "Pressure drop against engine speed. " (legend(outcome)) }
                }
                @for pull in pulls { p { (fitted(outcome, pull)) } }
                (steps(outcome))
            }
        }
    }
}

/// Whose pull it is.
fn whose(outcome: &Outcome, pull: &Pull) -> String {
    format!("{}, {}", answer::label(outcome, &pull.cooler), pull.run)
}

fn legend(outcome: &Outcome) -> String {
    let words = ["dots", "circles", "squares", "diamonds"];
    let pulls = outcome.results.pulls.iter().enumerate();
    let said: Vec<String> = pulls
        .map(|(at, pull)| format!("{}: {}", words[at % MARKS], whose(outcome, pull)))
        .collect();
    format!("{}.", said.join("; "))
}

/// The fitted loss, or what is missing for it.
fn fitted(outcome: &Outcome, pull: &Pull) -> Markup {
    let whose = whose(outcome, pull);
    let Some(fit) = &pull.fit else {
        return if pull.missing.is_empty() {
            html! { (whose) ": the steps are too few for a fitted loss coefficient." }
        } else {
            let keys: Vec<String> = pull
                .missing
                .iter()
                .map(|key| format!("`{key}`").replace(" or ", "` or `"))
                .collect();
            ticked(&format!(
                "{whose}: for a fitted loss coefficient there is missing: {}.",
                keys.join(", ")
            ))
        };
    };
    let told = |q| {
        let value = number::value(q, number::Kind::Level);
        let interval = number::interval(q, number::Kind::Level);
        interval.map_or(value.clone(), |ends| format!("{value} ({ends})"))
    };
    html! {
        (whose) ": Δp = offset + K\u{a0}ṁ²/ρ̄ with K = " (told(&fit.loss_coefficient)) " and an offset of " (told(&fit.offset))
        ". The intervals are those of the scatter; what the sensors may err by comes on top."
    }
}

fn steps(outcome: &Outcome) -> Markup {
    let caption = html! { "Means over the rows of each step" };
    let rows = html! {
        thead { tr {
            th scope="col" { "Run" }
            th.number scope="col" { "Engine speed, rpm" }
            th.number scope="col" { "Pressure drop, kPa" }
            th.number scope="col" { "Air flow, g/s" }
            th.number scope="col" { "Rows" }
        } }
        tbody {
            @for pull in &outcome.results.pulls {
                @for step in &pull.steps {
                    tr {
                        th scope="row" { (whose(outcome, pull)) }
                        td.number { (number::typeset(step.engine_speed, 0)) }
                        td.number { (number::typeset(step.pressure_drop, 2)) }
                        td.number { (step.air_flow.map_or_else(|| number::UNKNOWN.to_owned(), |flow| number::typeset(flow, 1))) }
                        td.number { (step.rows) }
                    }
                }
            }
        }
    };
    table("pulls", "dense", &caption, &rows)
}

/// The axes, with round numbers along them.
struct Axes {
    speed: Axis,
    drop: Axis,
}

impl Axes {
    fn of(pulls: &[Pull]) -> Self {
        let steps = || pulls.iter().flat_map(|pull| &pull.steps);
        let over = |values: &mut dyn Iterator<Item = f64>, steps: &[f64]| {
            let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |ends, value| {
                (ends.0.min(value), ends.1.max(value))
            });
            Axis::over(low, high, steps, 6.0, false)
        };
        Self {
            speed: over(
                &mut steps().map(|step| step.engine_speed),
                &[100.0, 200.0, 500.0, 1000.0],
            ),
            drop: over(
                &mut steps().map(|step| step.pressure_drop).chain([0.0]),
                &[0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0],
            ),
        }
    }

    fn x(&self, speed: f64) -> f64 {
        LEFT + self.speed.share(speed) * (SIZE.0 - LEFT - RIGHT)
    }

    fn y(&self, drop: f64) -> f64 {
        SIZE.1 - BOTTOM - self.drop.share(drop) * (SIZE.1 - BOTTOM - TOP)
    }
}

/// The drawing; nothing in it but numbers and escaped labels comes from the session.
fn drawing(outcome: &Outcome) -> String {
    let pulls = &outcome.results.pulls;
    let axes = Axes::of(pulls);
    let (width, height) = SIZE;
    let names: Vec<String> = pulls.iter().map(|pull| whose(outcome, pull)).collect();
    let label = html! { (names.join("; ")) }
        .into_string()
        .replace('"', "&quot;");
    let mut svg = String::new();
    // Writing to a String cannot fail.
    let _ = write!(
        svg,
        "<svg viewBox=\"0 0 {width} {height}\" role=\"img\" aria-label=\"Pressure drop against engine speed, as in the table \
         below: {label}\" style=\"max-width:{width}px;width:100%\" font-size=\"11\" fill=\"currentColor\" stroke=\"none\">"
    );
    for (at, pull) in pulls.iter().enumerate() {
        curve(&mut svg, at, pull, &axes);
    }
    scales(&mut svg, &axes);
    svg.push_str("</svg>");
    svg
}

/// A pull's steps, joined, with marks of their own.
fn curve(svg: &mut String, at: usize, pull: &Pull, axes: &Axes) {
    let dashes = ["", "6 3", "2 2", "8 3 2 3"][at % MARKS];
    let _ = write!(
        svg,
        "<path fill=\"none\" stroke=\"currentColor\" stroke-dasharray=\"{dashes}\" d=\""
    );
    for (index, step) in pull.steps.iter().enumerate() {
        let letter = if index == 0 { 'M' } else { 'L' };
        let _ = write!(
            svg,
            "{letter}{:.1} {:.1}",
            axes.x(step.engine_speed),
            axes.y(step.pressure_drop)
        );
    }
    svg.push_str("\"/>");
    for step in &pull.steps {
        let (x, y) = (axes.x(step.engine_speed), axes.y(step.pressure_drop));
        let _ = match at % MARKS {
            0 => write!(svg, "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"3.5\"/>"),
            1 => write!(
                svg,
                "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"3.5\" fill=\"none\" stroke=\"currentColor\"/>"
            ),
            2 => write!(
                svg,
                "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"6\" height=\"6\"/>",
                x - 3.0,
                y - 3.0
            ),
            _ => write!(svg, "<path d=\"M{x:.1} {:.1}l4 4l-4 4l-4 -4z\"/>", y - 4.0),
        };
    }
}

fn scales(svg: &mut String, axes: &Axes) {
    let (right, floor) = (SIZE.0 - RIGHT, SIZE.1 - BOTTOM);
    let decimals = usize::from(axes.drop.high - axes.drop.low < 5.0);
    for drop in axes.drop.numbers() {
        let _ = write!(
            svg,
            "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{drop:.decimals$} kPa</text>",
            LEFT - 5.0,
            axes.y(drop) + 4.0
        );
    }
    for speed in axes.speed.numbers() {
        let _ = write!(
            svg,
            "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{speed:.0}</text>",
            axes.x(speed),
            floor + 15.0
        );
    }
    let _ = write!(
        svg,
        "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">rpm</text>\
         <path d=\"M{LEFT} {TOP}V{floor}H{right}\" stroke=\"currentColor\" fill=\"none\"/>",
        0.5 * (LEFT + right),
        floor + 31.0
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outcome::{PullFit, PullStep, Q};
    use crate::quantity::Unit;
    use crate::report::fixture;

    fn pull(run: &str, fit: Option<PullFit>, missing: &[&str]) -> Pull {
        let steps = (0..10).map(|at| PullStep {
            engine_speed: 1550.0 + 100.0 * f64::from(at),
            pressure_drop: 2.0 + 0.5 * f64::from(at),
            air_flow: (at > 2).then_some(60.0 + 5.0 * f64::from(at)),
            rows: 40,
        });
        Pull {
            cooler: fixture::outcome(false).results.baseline,
            run: run.to_owned(),
            file: "pull.csv".to_owned(),
            steps: steps.collect(),
            fit,
            missing: missing.iter().map(|&key| key.to_owned()).collect(),
        }
    }

    #[test]
    fn pulls_are_drawn_and_tabled() {
        let q = |value: f64, unit| Q {
            value,
            unit,
            low: Some(0.9 * value),
            high: Some(1.1 * value),
            standard_uncertainty: Some(0.05 * value),
        };
        let fit = PullFit {
            offset: q(0.2, Unit::Kilopascal),
            loss_coefficient: q(2.1e5, Unit::PerMetreToTheFourth),
        };
        let mut outcome = fixture::outcome(true);
        outcome.results.pulls = vec![
            pull("hold \"1\" <b>", Some(fit), &[]),
            pull("hold 2", None, &["air-flow", "outlet-air or intake-air"]),
        ];
        let page = section(&outcome).into_string();
        assert_eq!(page.matches("<circle").count(), 20);
        assert_eq!(page.matches("<tr>").count(), 21);
        assert!(
            page.contains("210") && page.contains("0.180 to 0.220"),
            "{page}"
        );
        assert!(
            page.contains(
                "<code>air-flow</code>, <code>outlet-air</code> or <code>intake-air</code>"
            )
        );
        assert!(!page.contains("<b>") && !page.contains("NaN") && !page.contains("inf"));
    }

    #[test]
    fn without_pulls_there_is_no_section() {
        assert_eq!(section(&fixture::outcome(true)).into_string(), "");
    }
}
