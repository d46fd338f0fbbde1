use std::collections::HashMap;

use super::*;
use crate::report::fixture;

fn report(outcome: &Outcome, pictures: &[(String, Vec<u8>)]) -> String {
    let names: Vec<String> = pictures.iter().map(|(name, _)| name.clone()).collect();
    let read = |name: &str| {
        let found = pictures.iter().find(|(known, _)| known == name).unwrap();
        Ok(found.1.clone())
    };
    let mut page = Vec::new();
    write(&mut page, outcome, &names, &read).unwrap();
    String::from_utf8(page).unwrap()
}

fn page(intervals: bool) -> String {
    report(&fixture::outcome(intervals), &fixture::pictures())
}

#[test]
fn each_picture_is_whole_and_in_its_place() {
    let mut pictures = fixture::pictures();
    for (index, (_, png)) in pictures.iter_mut().enumerate() {
        png.push(index as u8);
    }
    let mut outcome = fixture::outcome(false);
    outcome.results.title = Some(PICTURE.to_owned());
    let page = report(&outcome, &pictures);
    let found: Vec<&str> = page
        .split("base64,")
        .skip(1)
        .map(|part| part.split('"').next().unwrap())
        .collect();
    for (found, (name, png)) in found.iter().zip(&pictures) {
        assert!(found.as_bytes() == data::base64(png), "{name}");
    }
    assert_eq!(found.len(), pictures.len());
}

#[test]
fn a_picture_that_cannot_be_read_is_an_error() {
    let names = ["side-by-side.png".to_owned()];
    let gone = |_: &str| Err(io::ErrorKind::NotFound.into());
    let outcome = fixture::outcome(false);
    assert!(write(&mut Vec::new(), &outcome, &names, &gone).is_err());
}

/// The visible page without its styles and the bytes of pictures.
fn body(page: &str) -> String {
    let body = &page[page.find("<body>").unwrap()..];
    let mut text = String::new();
    for (index, part) in body.split("base64,").enumerate() {
        let rest = if index == 0 {
            part
        } else {
            &part[part.find('"').unwrap()..]
        };
        text.push_str(rest);
        text.push('…');
    }
    text.replace('>', ">\n")
}

#[test]
fn the_page_without_intervals() {
    insta::assert_snapshot!(body(&page(false)));
}

#[test]
fn the_page_with_intervals() {
    insta::assert_snapshot!(body(&page(true)));
}

/// Every tag is closed in turn, attributes are quoted, ids are unique.
fn check_tags(page: &str) {
    const VOID: [&str; 3] = ["meta", "img", "!DOCTYPE"];
    let mut open: Vec<&str> = Vec::new();
    let mut ids = std::collections::HashSet::new();
    for tag in page.split('<').skip(1) {
        let (tag, _) = tag.split_once('>').unwrap();
        let name = tag.split_whitespace().next().unwrap();
        if let Some(id) = tag.split(" id=\"").nth(1) {
            assert!(ids.insert(id.split('"').next().unwrap()), "{id} twice");
        }
        if let Some(closed) = name.strip_prefix('/') {
            assert_eq!(open.pop(), Some(closed));
        } else if !VOID.contains(&name) && !tag.ends_with('/') {
            open.push(name);
        }
        assert_eq!(tag.matches('"').count() % 2, 0, "{name}");
    }
    assert!(open.is_empty(), "{open:?}");
}

#[test]
fn tags_are_balanced_and_nothing_is_fetched() {
    for page in [page(false), page(true), report(&fixture::alone(), &[])] {
        check_tags(&page);
        let small = page.to_lowercase();
        for banned in [
            "<script",
            "http://",
            "https://",
            "//",
            "javascript:",
            "url(",
            "@import",
            "<link",
            "nan",
            "onerror",
        ] {
            // Base 64 may hold two slashes in a row and any letters.
            let without_pictures = body(&small);
            assert!(!without_pictures.contains(banned), "{banned}");
        }
        assert!(!STYLE.contains("url(") && !STYLE.contains("@import"));
    }
}

#[test]
fn words_of_the_session_are_escaped() {
    let page = page(true);
    assert!(page.contains("Charge-air coolers &lt;A&gt; &amp; &quot;B&quot; = über, 3 bar"));
    assert!(!page.contains("<A>") && !page.contains("<larger>") && !page.contains("<b>"));
}

#[test]
fn pictures_have_alternatives_and_sizes() {
    let page = page(false);
    assert_eq!(page.matches("<img ").count(), 3);
    assert_eq!(page.matches(" alt=\"Thermal picture").count(), 3);
    assert_eq!(page.matches("width=\"320\" height=\"240\"").count(), 3);
    assert!(page.contains("Welded replacement, hold 1: -welded-ü.png"));
}

#[test]
fn the_answer_stands_before_everything_else() {
    let page = page(false).replace('\u{a0}', " ");
    let answer = page.find("is 6.1 K cooler than that of Original").unwrap();
    assert!(answer < page.find("<h2>").unwrap());
    assert!(page.contains("do not rely on small differences"));
    assert!(!self::page(true).contains("do not rely on small differences"));
}

/// The custom properties of each `:root` block of the style sheet: light, dark, print.
fn themes() -> Vec<HashMap<&'static str, &'static str>> {
    STYLE
        .split(":root {")
        .skip(1)
        .map(|block| {
            let (block, _) = block.split_once('}').unwrap();
            block
                .lines()
                .filter_map(|line| line.trim().trim_end_matches(';').split_once(": "))
                .collect()
        })
        .collect()
}

/// Relative luminance of `#rrggbb` (WCAG 2.2, definition).
fn luminance(colour: &str) -> f64 {
    let part = |at: usize| {
        let value = f64::from(u8::from_str_radix(&colour[at..at + 2], 16).unwrap()) / 255.0;
        if value <= 0.04045 {
            value / 12.92
        } else {
            ((value + 0.055) / 1.055).powf(2.4)
        }
    };
    0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
}

#[test]
fn text_contrasts_enough() {
    let themes = themes();
    assert_eq!(themes.len(), 3);
    for theme in themes {
        let contrast = |a: &str, b: &str| {
            let (a, b) = (luminance(theme[a]), luminance(theme[b]));
            (a.max(b) + 0.05) / (a.min(b) + 0.05)
        };
        for ink in ["--ink", "--quiet"] {
            for ground in ["--page", "--sheet", "--tint", "--warn-tint"] {
                assert!(contrast(ink, ground) >= 4.5, "{ink} on {ground}"); // 1.4.3
            }
        }
        assert!(contrast("--warn", "--warn-tint") >= 4.5);
        for (mark, ground) in [("--accent", "--page"), ("--edge", "--page")] {
            assert!(contrast(mark, ground) >= 3.0, "{mark} on {ground}"); // 1.4.11
        }
    }
}
