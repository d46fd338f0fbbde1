//! What surrounds the figures: cautions, pictures, conditions, method, safety, inputs.

use maud::{Markup, PreEscaped, html};

use super::{PICTURE, table, ticked, words};
use crate::outcome::{Outcome, Picture, RunConditions};
use crate::report::number::UNKNOWN;
use crate::report::{answer, by_kind, labels, number};

/// The cautions by kind, each with its places and advice.
pub fn cautions(outcome: &Outcome) -> Markup {
    let kinds = by_kind(&outcome.results.cautions);
    html! {
        section {
            h2 { "Cautions" }
            @if kinds.is_empty() { p { "None were raised." } }
            @for kind in kinds {
                article.caution id={ "caution-" (kind.id.id()) } {
                    h3 { (ticked(kind.id.meaning())) " " code { (kind.id.id()) } }
                    ul { @for said in kind.said {
                        li { strong { (said.places.join("; ")) } ": " (ticked(said.message)) }
                    } }
                    @for advice in kind.advices { p { "What to do: " (ticked(advice)) } }
                }
            }
        }
    }
}

/// The pictures, inside the page, by name and size in pixels; their bytes are filled in as it is written.
pub fn pictures(outcome: &Outcome, pictures: &[(&str, Option<(u32, u32)>)]) -> Markup {
    html! {
        @if !pictures.is_empty() {
            section {
                h2 { "Pictures" }
                p { "The colours of each annotated picture are those of the scale below it. Where these scales differ, only side by side is the same colour the same temperature." }
                @for (name, size) in pictures.iter().filter(|(name, _)| !annotated(name)) {
                    (picture(outcome, name, *size))
                }
                div.pictures {
                    @for (name, size) in pictures.iter().filter(|(name, _)| annotated(name)) {
                        (picture(outcome, name, *size))
                    }
                }
            }
        }
    }
}

/// Whether a picture is one of the annotated ones rather than all of them together.
fn annotated(name: &str) -> bool {
    name.contains('/')
}

fn picture(outcome: &Outcome, name: &str, size: Option<(u32, u32)>) -> Markup {
    let file = name.rsplit('/').next().unwrap_or(name);
    let known = outcome
        .pictures
        .iter()
        .find(|picture| picture.annotated == file);
    let (caption, alt) = match known {
        Some(picture) => described(outcome, picture),
        None => side_by_side(outcome, name),
    };
    html! {
        figure {
            img src={ "data:image/png;base64," (PreEscaped(PICTURE)) } alt=(alt)
                width=[size.map(|size| size.0)] height=[size.map(|size| size.1)];
            figcaption { (caption) }
        }
    }
}

/// Caption and alternative text of an annotated picture: whose it is, and what its labels say.
fn described(outcome: &Outcome, picture: &Picture) -> (String, String) {
    let whose = outcome
        .conditions
        .get(picture.run)
        .map_or_else(String::new, |run| {
            format!("{}, {}: ", answer::label(outcome, &run.cooler), run.run)
        });
    let caption = format!("{whose}{}", picture.file);
    let labels: Vec<_> = labels::of(outcome, picture)
        .iter()
        .map(|lines| lines.join(" "))
        .collect();
    let alt = format!(
        "Thermal picture, {caption}. Regions: {}.",
        labels.join("; ")
    );
    (caption, alt)
}

fn side_by_side(outcome: &Outcome, name: &str) -> (String, String) {
    if name != "side-by-side.png" {
        return (name.to_owned(), format!("Thermal picture {name}."));
    }
    let labels: Vec<_> = outcome
        .results
        .coolers
        .iter()
        .map(|cooler| cooler.label.as_str())
        .collect();
    let caption = "All coolers on one temperature scale: the same colour is the same temperature. Of each cooler the upper \
                   row is as the instrument saw it. The lower has the outlined parts of the tanks at their corrected \
                   temperature: with the pattern that was seen, but flat where the emissivity is below 0.6, because the \
                   pattern there is mostly reflections, and hatched where the reading tells no temperature.";
    let alt = format!(
        "Thermal pictures side by side on one temperature scale, as the instrument saw them and with the tanks at their \
         corrected temperatures: {}.",
        labels.join("; ")
    );
    (caption.to_owned(), alt)
}

/// What was noted for each run, a table per cooler with a column per run.
pub fn conditions(outcome: &Outcome) -> Markup {
    let mut coolers: Vec<&str> = Vec::new();
    for run in &outcome.conditions {
        if !coolers.contains(&run.cooler.as_str()) {
            coolers.push(&run.cooler);
        }
    }
    html! {
        section {
            h2 { "Conditions" }
            @for (index, cooler) in coolers.iter().enumerate() { (noted(outcome, cooler, index)) }
        }
    }
}

fn noted(outcome: &Outcome, cooler: &str, index: usize) -> Markup {
    let runs: Vec<&RunConditions> = outcome
        .conditions
        .iter()
        .filter(|run| run.cooler == cooler)
        .collect();
    let mut labels: Vec<&str> = Vec::new();
    for (label, _) in runs.iter().flat_map(|run| &run.notes) {
        if !labels.contains(&label.as_str()) {
            labels.push(label);
        }
    }
    let value = |run: &RunConditions, label: &str| {
        let mut notes = run.notes.iter();
        notes
            .find(|(known, _)| known == label)
            .map_or_else(|| UNKNOWN.to_owned(), |(_, value)| number::together(value))
    };
    let caption = html! { (answer::label(outcome, cooler)) };
    let rows = html! {
        thead role="rowgroup" { tr role="row" {
            td role="cell" {}
            @for run in &runs { th scope="col" role="columnheader" { (run.run) } }
        } }
        tbody role="rowgroup" { @for label in labels {
            tr role="row" {
                th scope="row" role="rowheader" { (label) }
                @for run in &runs { td role="cell" data-label=(run.run) { (value(run, label)) } }
            }
        } }
    };
    table(
        &format!("conditions-{}", index + 1),
        "stack notes",
        &caption,
        &rows,
    )
}

/// How the figures came about.
pub fn method(outcome: &Outcome) -> Markup {
    html! {
        section {
            h2 { "Method" }
            @for paragraph in words::METHOD { p { (paragraph) } }
            @if outcome.results.draws > 0 {
                p { "Intervals hold 95\u{a0}% of " (number::typeset(outcome.results.draws as f64, 0))
                    " draws of all inputs within their limits (JCGM 101), seed " (outcome.results.seed) "." }
            } @else {
                p { "Intervals have not been worked out in this version." }
            }
        }
    }
}

/// How to measure without getting hurt.
pub fn safety() -> Markup {
    html! {
        section {
            h2 { "Safety when measuring" }
            ul { @for item in words::SAFETY { li { (item) } } }
        }
    }
}

/// What was read, what was not used, and by which version.
pub fn provenance(outcome: &Outcome) -> Markup {
    let caption = html! { "Files that were read, with the SHA-256 of their bytes" };
    let rows = html! {
        thead role="rowgroup" { tr role="row" {
            th scope="col" role="columnheader" { "File" }
            th scope="col" role="columnheader" { "SHA-256" }
        } }
        tbody role="rowgroup" { @for input in &outcome.results.inputs {
            tr role="row" {
                th scope="row" role="rowheader" { (input.file) }
                td.wide role="cell" data-label="SHA-256" { code.sum { (input.sha256) } }
            }
        } }
    };
    html! {
        section {
            h2 { "Inputs" }
            (table("inputs", "stack", &caption, &rows))
            p { "Written by endtank " (outcome.results.endtank) "." }
        }
    }
}
