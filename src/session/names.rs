//! Names: finding the one that is meant, and suggesting the one that was probably meant.

use std::collections::HashMap;

use super::reader::{Entry, Table};

/// How many names are compared with an unknown one, and shown where none is near.
const COMPARED: usize = 500;
const SHOWN: usize = 40;

/// `did you mean …?`, or all the names there are.
pub(crate) fn did_you_mean<'n>(
    wrong: &str,
    names: impl Iterator<Item = &'n str> + Clone,
    intro: &str,
) -> String {
    let near = names
        .clone()
        .take(COMPARED)
        .map(|name| (distance(wrong, name), name))
        .filter(|(distance, name)| *distance <= name.chars().count().max(3) / 3)
        .min_by_key(|(distance, _)| *distance);
    if let Some((_, name)) = near {
        return format!("did you mean `{name}`?");
    }
    let total = names.clone().count();
    let mut shown: Vec<String> = names.take(SHOWN).map(|name| format!("`{name}`")).collect();
    if total > SHOWN {
        shown.push("…".to_owned());
    }
    if shown.is_empty() {
        "there are none yet".to_owned()
    } else {
        format!("{intro} {}", shown.join(", "))
    }
}

fn distance(wrong: &str, name: &str) -> usize {
    // A name that is far longer is not near, and comparing it would take its time.
    if wrong.len() > 4 * name.len() + 16 {
        return usize::MAX;
    }
    let tidy = |text: &str| text.to_lowercase().replace(['_', ' '], "-");
    strsim::osa_distance(&tidy(wrong), &tidy(name))
}

/// The names of one kind of thing, in the order of the file.
pub(super) struct Names<'t> {
    kind: &'static str,
    index: HashMap<&'t str, usize>,
    list: Vec<&'t str>,
}

impl<'t> Names<'t> {
    pub fn new(kind: &'static str, list: Vec<&'t str>) -> Self {
        let index = list
            .iter()
            .enumerate()
            .map(|(at, name)| (*name, at))
            .collect();
        Self { kind, index, list }
    }

    pub const fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// The index of what an entry names.
    pub fn find(&self, table: &Table<'t>, entry: &Entry<'t>) -> Option<usize> {
        let name = table.text_of(entry)?;
        let found = self.index.get(name).copied();
        if found.is_none() {
            let mend = if self.is_empty() {
                format!(
                    "there are no {}s yet: add [{}.{}]",
                    self.kind,
                    self.kind,
                    header_name(name)
                )
            } else {
                let intro = format!("the session's {}s are", self.kind);
                did_you_mean(name, self.list.iter().copied(), &intro)
            };
            let what = format!("there is no {} `{name}`", self.kind);
            table.context.absent(Some(entry.span()), what, mend);
        }
        found
    }
}

/// A name as it can stand in a header: quoted unless it is plain letters, digits, `-` and `_`.
pub(super) fn header_name(name: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    if !name.is_empty() && name.chars().all(plain) {
        name.to_owned()
    } else {
        format!("{name:?}")
    }
}
