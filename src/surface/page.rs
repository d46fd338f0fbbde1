//! The presets as a page of documentation.

use std::fmt::Write as _;

use super::{Figure, Preset, Source, presets};

/// The documentation of all presets, in Markdown: `docs/surfaces.md`.
#[must_use]
pub fn documentation() -> String {
    let mut page = String::from(
        "# Surface presets\n\n\
         `like = \"NAME\"` on a session's surface gives whatever its table does not say itself.\n\
         Emissivities are for 8 to 14 µm near 300 to 400 K, seen square on. The limits hold every\n\
         published value that is listed; most of those are total emissivities, the nearest that is published.\n\n\
         *seen*: the value was read in the work; *computed*: worked out from data that was read; *memory*: recalled, the\n\
         work was not opened. An emissivity that matters should be measured, with a patch.\n\n\
         | name | what it is | emissivity | conductivity |\n| --- | --- | --- | --- |\n",
    );
    // Writing to a String cannot fail.
    for preset in presets() {
        let conductivity = preset.conductivity.as_ref();
        let _ = writeln!(
            page,
            "| `{}` | {} | {} | {} |",
            preset.name,
            preset.words,
            preset.emissivity.written,
            conductivity.map_or("–", |figure| &figure.written)
        );
    }
    for preset in presets() {
        section(&mut page, preset);
    }
    page
}

fn section(page: &mut String, preset: &Preset) {
    let _ = write!(page, "\n## {}\n\n{}.", preset.name, preset.words);
    if let Some(note) = &preset.note {
        let _ = write!(page, " {note}");
    }
    page.push('\n');
    for (name, figure) in preset.figures() {
        let _ = write!(page, "\n**{name}** {}", figure.written);
        if let Some(judgement) = &figure.judgement {
            let _ = write!(page, ". {judgement}");
        }
        if figure.sources.is_empty() {
            page.push_str(". No source: a usual handbook value, from memory");
        }
        page.push_str(".\n");
        if !figure.sources.is_empty() {
            page.push('\n');
        }
        for source in &figure.sources {
            let _ = writeln!(page, "- {}", source.sentence());
        }
    }
}

impl Preset {
    /// Its figures with their names, those that it has.
    #[must_use]
    pub fn figures(&self) -> Vec<(&'static str, &Figure)> {
        let optional = [
            ("conductivity", &self.conductivity),
            ("density", &self.density),
            ("specific heat", &self.specific_heat),
        ];
        let optional = optional
            .into_iter()
            .filter_map(|(name, figure)| Some((name, figure.as_ref()?)));
        std::iter::once(("emissivity", &self.emissivity))
            .chain(optional)
            .collect()
    }
}

impl Source {
    /// What is published: `0.88 to 0.91`, `0.94 or more`.
    #[must_use]
    pub fn published(&self) -> String {
        match (self.low, self.high) {
            (Some(low), Some(high)) if low < high => format!("{low} to {high}"),
            (Some(value), Some(_)) => value.to_string(),
            (Some(low), None) => format!("{low} or more"),
            (None, Some(high)) => format!("{high} or less"),
            (None, None) => "–".to_owned(),
        }
    }

    /// All of it in a line.
    #[must_use]
    pub fn sentence(&self) -> String {
        let what = [self.material.as_str(), self.condition.as_str()];
        let what: Vec<&str> = what.into_iter().filter(|part| !part.is_empty()).collect();
        let at = self
            .at
            .as_ref()
            .map_or(String::new(), |at| format!(" ({at})"));
        let (what, published) = (what.join(", "), self.published());
        format!(
            "{published}{at}: {what}. {}. *{}*",
            self.citation,
            self.status.word()
        )
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_committed_page_is_the_generated_one() {
        crate::report::fixture::committed("docs/surfaces.md", &super::documentation());
    }
}
