//! Problems with the input, collected so that the technician sees all of them in one go, each with its line.

use std::fmt;
use std::sync::Arc;

use annotate_snippets::{AnnotationKind, Level, Origin, Renderer, Snippet};

use crate::session::{SourceText, Span};

/// One thing that is wrong with the input.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Where in the session's text; `None` where it concerns no line of it.
    pub span: Option<Span>,
    /// What is wrong, in a sentence without a full stop; names the value found.
    pub what: String,
    /// What to write or do instead.
    pub mend: String,
}

impl Problem {
    /// A problem at a place in the session.
    pub fn at(span: Span, what: impl Into<String>, mend: impl Into<String>) -> Self {
        Self {
            span: Some(span),
            what: what.into(),
            mend: mend.into(),
        }
    }

    /// A problem that concerns no line of the session.
    pub fn general(what: impl Into<String>, mend: impl Into<String>) -> Self {
        Self {
            span: None,
            what: what.into(),
            mend: mend.into(),
        }
    }

    /// Orders problems by their place in the file; those without one come last.
    pub(crate) fn place(&self) -> (usize, usize) {
        let span = self.span.as_ref();
        span.map_or((usize::MAX, usize::MAX), |span| (span.start, span.end))
    }
}

/// All problems found with a session and its files.
#[derive(Debug, Clone)]
pub struct Problems {
    /// The session's text.
    pub source: Arc<SourceText>,
    /// In the order of the file; never empty.
    pub list: Vec<Problem>,
}

impl std::error::Error for Problems {}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.render(false))
    }
}

/// The widest line of text that is shown; longer ones are cut around what is wrong.
const WIDTH: usize = 120;
/// How many problems are shown at once.
const SHOWN: usize = 100;

impl Problems {
    /// Problems with a session, put in the order of its text.
    #[must_use]
    pub fn new(source: Arc<SourceText>, mut list: Vec<Problem>) -> Self {
        list.sort_by_key(|problem| problem.span.as_ref().map(|span| span.start));
        Self { source, list }
    }

    /// All problems as text for people, in the order of the file, each with its line; with terminal colours if `colour`.
    #[must_use]
    pub fn render(&self, colour: bool) -> String {
        let renderer = if colour {
            Renderer::styled()
        } else {
            Renderer::plain()
        };
        let renderer = renderer.term_width(WIDTH);
        let path = self.source.path.display().to_string();
        let mut sorted: Vec<&Problem> = self.list.iter().collect();
        sorted.sort_by_key(|problem| problem.place());
        let mut text = String::new();
        for problem in sorted.iter().take(SHOWN) {
            text.push_str(&self.render_one(problem, &path, &renderer));
            text.push_str("\n\n");
        }
        if sorted.len() > SHOWN {
            text.push_str(&format!("… and {} more\n\n", sorted.len() - SHOWN));
        }
        let name = self
            .source
            .path
            .file_name()
            .map_or(path.clone(), |name| name.to_string_lossy().into_owned());
        let count = match self.list.len() {
            1 => "1 problem".to_owned(),
            several => format!("{several} problems"),
        };
        text.push_str(&format!("{count} in {name}; nothing was written\n"));
        text
    }

    fn render_one(&self, problem: &Problem, path: &str, renderer: &Renderer) -> String {
        let what = shown(&problem.what);
        let help = shown(&problem.mend);
        let title = Level::ERROR.primary_title(what.as_str());
        let group = match &problem.span {
            Some(span) => {
                let (line, text, span) = self.line(span);
                let snippet = Snippet::source(text)
                    .line_start(line)
                    .path(path)
                    .annotation(AnnotationKind::Primary.span(span));
                title.element(snippet)
            }
            None => title.element(Origin::path(path)),
        };
        renderer.render(&[group.element(Level::HELP.message(help.as_str()))])
    }

    /// The line that a stretch of text begins on: its number from 1, its text, and the stretch within it.
    fn line(&self, span: &Span) -> (usize, &str, Span) {
        let text = self.source.text.as_str();
        let mut at = span.start.min(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        let before = text.get(..at).unwrap_or_default();
        let start = before.rfind('\n').map_or(0, |end| end + 1);
        let rest = text.get(start..).unwrap_or_default();
        let line = rest.lines().next().unwrap_or_default();
        let from = (at - start).min(line.len());
        let mut to = span.end.saturating_sub(start).clamp(from, line.len());
        while !line.is_char_boundary(to) {
            to -= 1;
        }
        (before.matches('\n').count() + 1, line, from..to)
    }
}

/// Text for a message: a control character in it would move the terminal's cursor.
fn shown(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() { '\u{fffd}' } else { c })
        .collect()
}
