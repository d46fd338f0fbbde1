//! Walks the parsed file: every key is asked for once, every problem is noted, and what nobody asked for is unknown.

use std::cell::RefCell;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::Span;
use super::context::Context;
use super::names::did_you_mean;

/// A value with its key.
#[derive(Clone, Copy)]
pub(super) struct Entry<'t> {
    /// The key.
    pub key: &'t str,
    /// The value.
    pub value: &'t Spanned<DeValue<'t>>,
    /// Whether it is an element of the list that has the key.
    element: bool,
    key_start: usize,
    key_end: usize,
}

impl Entry<'_> {
    /// Where the key stands.
    pub const fn key_span(&self) -> Span {
        self.key_start..self.key_end
    }

    /// Where the value stands.
    pub fn span(&self) -> Span {
        self.value.span()
    }
}

/// The entries of a table in the order of the file.
pub(super) fn entries<'t>(table: &'t DeTable<'t>) -> Vec<Entry<'t>> {
    let mut all: Vec<Entry<'t>> = table
        .iter()
        .map(|(key, value)| Entry {
            key: key.get_ref(),
            value,
            element: false,
            key_start: key.span().start,
            key_end: key.span().end,
        })
        .collect();
    all.sort_by_key(|entry| (entry.key_start, entry.key_end));
    all
}

/// One table of the session while it is read.
pub(super) struct Table<'t> {
    /// What all tables share.
    pub context: &'t Context<'t>,
    /// Its place, for instance `instrument.camera`; empty for the session itself.
    pub place: String,
    /// Where it stands.
    pub span: Span,
    entries: Vec<Entry<'t>>,
    asked: RefCell<Vec<&'static str>>,
    elsewhere: Option<(&'static [&'static str], &'static str, &'static str)>,
}

impl<'t> Table<'t> {
    pub fn new(
        context: &'t Context<'t>,
        place: impl Into<String>,
        span: Span,
        table: &'t DeTable<'t>,
    ) -> Self {
        Self {
            context,
            place: place.into(),
            span,
            entries: entries(table),
            asked: RefCell::default(),
            elsewhere: None,
        }
    }

    /// Names keys that belong elsewhere and are easily written here by mistake: the keys, why they are wrong here,
    /// and what to do.
    pub const fn with_elsewhere(
        mut self,
        keys: &'static [&'static str],
        why: &'static str,
        mend: &'static str,
    ) -> Self {
        self.elsewhere = Some((keys, why, mend));
        self
    }

    /// The place of one of its keys.
    pub fn place_of(&self, key: &str) -> String {
        if self.place.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.place)
        }
    }

    /// Its name in messages.
    pub fn title(&self) -> String {
        if self.place.is_empty() {
            "the session".to_owned()
        } else {
            format!("`{}`", self.place)
        }
    }

    /// Takes a key.
    pub fn get(&self, key: &'static str) -> Option<Entry<'t>> {
        self.asked.borrow_mut().push(key);
        let mut entries = self.entries.iter();
        entries.find(|entry| entry.key == key).copied()
    }

    /// Whether a key is there, without taking it.
    pub fn has(&self, key: &str) -> bool {
        self.entries.iter().any(|entry| entry.key == key)
    }

    /// The text of a key, without taking it.
    pub fn peek_text(&self, key: &str) -> Option<&'t str> {
        self.entries
            .iter()
            .find(|entry| entry.key == key)?
            .value
            .get_ref()
            .as_str()
    }

    /// Takes a key that must be there.
    pub fn require(&self, key: &'static str, mend: &str) -> Option<Entry<'t>> {
        let entry = self.get(key);
        if entry.is_none() {
            self.missing(key, mend);
        }
        entry
    }

    /// Notes that a key is missing.
    pub fn missing(&self, key: &str, mend: &str) {
        let what = format!("{} has no `{key}`", self.title());
        self.absent(what, mend);
    }

    /// Notes that something is not there that should be.
    pub fn absent(&self, what: impl Into<String>, mend: impl Into<String>) {
        let place = (!self.place.is_empty()).then(|| self.span.clone());
        self.context.absent(place, what, mend);
    }

    /// Notes a problem with a value.
    pub fn problem(&self, span: Span, what: impl Into<String>, mend: impl Into<String>) {
        self.context.problem(span, what, mend);
    }

    /// Notes a value of the wrong kind.
    pub fn wrong_kind(&self, entry: &Entry<'_>, expected: &str, example: &str) {
        let each = if entry.element { "each entry of " } else { "" };
        let (key, found) = (entry.key, kind(entry.value.get_ref()));
        let what = format!("{each}`{key}` must be {expected}, but this is {found}");
        self.problem(entry.span(), what, format!("write {example}"));
    }

    /// Takes free text.
    pub fn text(&self, key: &'static str) -> Option<String> {
        let entry = self.get(key)?;
        self.text_of(&entry).map(str::to_owned)
    }

    /// The text of an entry.
    pub fn text_of(&self, entry: &Entry<'t>) -> Option<&'t str> {
        let text = entry.value.get_ref().as_str();
        if text.is_none() {
            self.wrong_kind(entry, "text in quotes", &format!("{} = \"…\"", entry.key));
        }
        text
    }

    /// Takes `true` or `false`.
    pub fn flag(&self, key: &'static str) -> Option<bool> {
        let entry = self.get(key)?;
        let flag = entry.value.get_ref().as_bool();
        if flag.is_none() {
            self.wrong_kind(&entry, "true or false", &format!("{key} = true"));
        }
        flag
    }

    /// Takes one of a few words.
    pub fn word<T: Copy>(&self, key: &'static str, words: &[(&'static str, T)]) -> Option<T> {
        let entry = self.get(key)?;
        let text = self.text_of(&entry)?;
        let found = words.iter().find(|(word, _)| *word == text);
        if found.is_none() {
            let names = words.iter().map(|(word, _)| *word);
            let mend = did_you_mean(text, names, &format!("{key} can be"));
            self.problem(entry.span(), format!("unknown {key} `{text}`"), mend);
        }
        found.map(|(_, value)| *value)
    }

    /// Takes a table inside this one.
    pub fn table(&self, key: &'static str) -> Option<Self> {
        let entry = self.get(key)?;
        self.table_of(&entry, self.place_of(key))
    }

    /// An entry as a table.
    pub fn table_of(&self, entry: &Entry<'t>, place: String) -> Option<Self> {
        let Some(table) = entry.value.get_ref().as_table() else {
            let example = if entry.element {
                "{ key = value, … } for it".to_owned()
            } else {
                format!("[{place}] and its keys on the lines below")
            };
            self.wrong_kind(entry, "a table", &example);
            return None;
        };
        Some(Self::new(self.context, place, header(entry), table))
    }

    /// Takes a table of named tables, such as all `[cooler.…]`, in the order of the file.
    pub fn named_tables(&self, key: &'static str) -> Vec<(&'t str, Self)> {
        let Some(entry) = self.get(key) else {
            return Vec::new();
        };
        let Some(all) = entry.value.get_ref().as_table() else {
            self.wrong_kind(
                &entry,
                "a table with a name",
                &format!("[{key}.NAME] and its keys on the lines below"),
            );
            return Vec::new();
        };
        let mut tables = Vec::new();
        for entry in entries(all) {
            if entry.value.get_ref().as_table().is_none() {
                let what = format!(
                    "`{}` stands in [{key}], which holds only named tables",
                    entry.key
                );
                self.problem(
                    entry.key_span(),
                    what,
                    format!("write a header [{key}.NAME] above it"),
                );
            } else if let Some(table) = self.table_of(&entry, format!("{key}.{}", entry.key)) {
                tables.push((entry.key, table));
            }
        }
        tables
    }

    /// Takes a list.
    pub fn list(&self, key: &'static str, example: &str) -> Option<Vec<Entry<'t>>> {
        let entry = self.get(key)?;
        self.list_of(&entry, example)
    }

    /// The elements of an entry that is a list.
    pub fn list_of(&self, entry: &Entry<'t>, example: &str) -> Option<Vec<Entry<'t>>> {
        let Some(list) = entry.value.get_ref().as_array() else {
            self.wrong_kind(entry, "a list", example);
            return None;
        };
        let element = |value: &'t Spanned<DeValue<'t>>| Entry {
            key: entry.key,
            value,
            element: true,
            key_start: value.span().start,
            key_end: value.span().end,
        };
        Some(list.iter().map(element).collect())
    }

    /// Notes every key that nobody asked for.
    pub fn finish(&self) {
        let asked = self.asked.borrow();
        for entry in self
            .entries
            .iter()
            .filter(|entry| !asked.contains(&entry.key))
        {
            let key = entry.key;
            if let Some((keys, why, mend)) = self.elsewhere
                && keys.contains(&key)
            {
                self.problem(entry.key_span(), format!("`{key}` {why}"), mend);
                continue;
            }
            let holds_tables = entry.value.get_ref().is_table() || entry.value.get_ref().is_array();
            if self.place.is_empty() && holds_tables {
                self.context.table_lost();
            }
            let mend = did_you_mean(key, asked.iter().copied(), "its keys are");
            self.problem(
                entry.key_span(),
                format!("unknown key `{key}` in {}", self.title()),
                mend,
            );
        }
    }
}

/// Where a table's header stands: its own text where it has one, else its key.
fn header(entry: &Entry<'_>) -> Span {
    let span = entry.span();
    if span.contains(&entry.key_start) || span.start > entry.key_end {
        span
    } else {
        entry.key_span()
    }
}

/// What a TOML value is, in words.
pub(super) const fn kind(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date or time",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
