//! Problems with the input, collected so that the technician sees all of them in one go, each with its line.

use std::fmt;
use std::sync::Arc;

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

impl Problems {
    /// All problems as text for people, each with its line; with terminal colours if `colour`.
    #[must_use]
    pub fn render(&self, _colour: bool) -> String {
        unimplemented!()
    }
}
