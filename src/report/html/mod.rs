//! `report.html`: one page for the customer, complete in itself: no script, nothing fetched, readable on a phone, in the
//! dark and on paper.

mod data;
mod figures;
mod notes;
mod words;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::answer;
use crate::outcome::Outcome;

const STYLE: &str = include_str!("style.css");

/// What the page may load: its own styles and the pictures inside it.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; img-src data:";

/// The report.
///
/// `pictures` are PNG files by their names in the results folder (`side-by-side.png`, `annotated/NAME.png`), shown in this
/// order.
#[must_use]
pub fn report(outcome: &Outcome, pictures: &[(String, Vec<u8>)]) -> String {
    let results = &outcome.results;
    let title = results
        .title
        .as_deref()
        .unwrap_or("Charge-air cooler comparison");
    html! {
        (DOCTYPE)
        html lang="en-GB" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="generator" content={ "endtank " (results.endtank) };
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main {
                    header {
                        h1 { (title) }
                        (answer_box(outcome))
                    }
                    (figures::comparison(outcome))
                    (notes::cautions(outcome))
                    (notes::pictures(outcome, pictures))
                    (figures::readings(outcome))
                    (figures::coolers(outcome))
                    (notes::conditions(outcome))
                    (notes::method(outcome))
                    (notes::safety())
                    (notes::provenance(outcome))
                }
            }
        }
    }
    .into_string()
}

fn answer_box(outcome: &Outcome) -> Markup {
    html! {
        div.answer {
            @for paragraph in answer::answer(outcome) { p { (paragraph) } }
        }
    }
}

/// A table in a box of its own that scrolls sideways where the screen is too narrow, reachable by keyboard.
fn table(id: &str, class: &str, caption: &Markup, rows: &Markup) -> Markup {
    html! {
        div.scroll role="region" aria-labelledby=(id) tabindex="0" {
            table.(class) role="table" {
                caption id=(id) { div.caption { (caption) } }
                (rows)
            }
        }
    }
}

/// Words in which backticks mark what is typed; they are left as they are where one has no partner.
fn ticked(words: &str) -> Markup {
    let parts: Vec<_> = words.split('`').collect();
    html! {
        @if parts.len() % 2 == 0 { (words) } @else {
            @for (index, part) in parts.into_iter().enumerate() {
                @if index % 2 == 1 { code { (part) } } @else { (part) }
            }
        }
    }
}

#[cfg(test)]
mod tests;
