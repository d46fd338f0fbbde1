//! `report.html`: one page for the customer, complete in itself: no script, nothing fetched, readable on a phone, in the
//! dark and on paper.

mod axis;
mod budget;
mod data;
mod figures;
mod notes;
mod pulls;
mod readings;
mod series;
mod settling;
mod temperatures;
mod words;

use std::io::{self, Write};

use maud::{DOCTYPE, Markup, PreEscaped, html};

pub use words::SAFETY;

use super::answer;
use super::budget as doubt;
use crate::outcome::Outcome;

const STYLE: &str = include_str!("style.css");

/// What the page may load: its own styles and the pictures inside it.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; img-src data:";

/// Stands where a picture's bytes belong in the page. No words of a session can hold it: their `<` is escaped.
const PICTURE: &str = "<picture>";

/// Writes the report.
///
/// `pictures` are the names of PNG files in the results folder (`side-by-side.png`, `annotated/NAME.png`), shown in this
/// order; `read` gives a file's bytes. One picture at a time is in memory.
///
/// # Errors
/// Those of reading the pictures and of writing.
pub fn write(
    to: &mut dyn Write,
    outcome: &Outcome,
    pictures: &[String],
    read: &dyn Fn(&str) -> io::Result<Vec<u8>>,
) -> io::Result<()> {
    let mut sized = Vec::new();
    for name in pictures {
        sized.push((name.as_str(), data::png_size(&read(name)?)));
    }
    let page = page(outcome, &sized);
    let mut parts = page.split(PICTURE);
    to.write_all(parts.next().unwrap_or_default().as_bytes())?;
    for (name, part) in pictures.iter().zip(parts) {
        to.write_all(&data::base64(&read(name)?))?;
        to.write_all(part.as_bytes())?;
    }
    Ok(())
}

/// The page, with [`PICTURE`] for the bytes of each picture; `pictures` by name and size in pixels.
fn page(outcome: &Outcome, pictures: &[(&str, Option<(u32, u32)>)]) -> String {
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
                    (temperatures::plot(outcome))
                    (figures::comparison(outcome))
                    (budget::section(outcome))
                    (settling::section(outcome))
                    (pulls::section(outcome))
                    (notes::pictures(outcome, pictures))
                    (readings::section(outcome))
                    (figures::coolers(outcome))
                    (notes::cautions(outcome))
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
        @for candidate in answer::candidates(outcome) {
            @if let Some(sentence) = answer::not_shown(outcome, candidate) { p.aside { (sentence) } }
            @if let Some(advice) = doubt::advice(outcome, candidate) { p.aside { (ticked(&advice)) } }
        }
    }
}

/// A table in a box of its own that scrolls sideways where the screen is too narrow, reachable by keyboard. Of the class
/// `stack` its rows become blocks on a phone, each figure below its `data-label`; there rows and cells state their roles,
/// so that it stays a table for those who listen to it.
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
