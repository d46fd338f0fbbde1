//! What all tables of one session share while it is read: the text, and what was noted.

use std::cell::{Cell, RefCell};
use std::path::Path;

use super::Span;
use crate::diagnostics::Problem;

/// What all tables of one session share while it is read.
pub(super) struct Context<'a> {
    /// The session's text.
    pub text: &'a str,
    /// The session's folder; `None` where picture files are not looked for.
    pub folder: Option<&'a Path>,
    problems: RefCell<Vec<Problem>>,
    absent: RefCell<Vec<Problem>>,
    lost: Cell<bool>,
}

impl<'a> Context<'a> {
    pub fn new(text: &'a str, folder: Option<&'a Path>) -> Self {
        Self {
            text,
            folder,
            problems: RefCell::default(),
            absent: RefCell::default(),
            lost: Cell::new(false),
        }
    }

    /// Notes a problem at a place.
    pub fn problem(&self, span: Span, what: impl Into<String>, mend: impl Into<String>) {
        self.problems
            .borrow_mut()
            .push(Problem::at(span, what, mend));
    }

    /// Notes that something is not there; without a place it concerns the whole session.
    pub fn absent(&self, span: Option<Span>, what: impl Into<String>, mend: impl Into<String>) {
        let (what, mend) = (what.into(), mend.into());
        self.absent.borrow_mut().push(Problem { span, what, mend });
    }

    /// Notes that a whole table is lost, so that what seems to be absent may stand in it.
    pub fn table_lost(&self) {
        self.lost.set(true);
    }

    /// The text of a stretch.
    pub fn slice(&self, span: &Span) -> &'a str {
        self.text.get(span.clone()).unwrap_or_default()
    }

    /// Everything that was noted.
    pub fn into_notes(self) -> Notes {
        Notes {
            problems: self.problems.into_inner(),
            absent: self.absent.into_inner(),
            lost: self.lost.into_inner(),
        }
    }
}

/// What was noted while a session was read.
pub(super) struct Notes {
    /// What is wrong with what is there.
    pub problems: Vec<Problem>,
    /// What is not there, though it should be.
    pub absent: Vec<Problem>,
    /// Whether a whole table was not understood.
    pub lost: bool,
}

/// Where the lines of a text begin.
pub(super) struct Lines(Vec<usize>);

impl Lines {
    pub fn new(text: &str) -> Self {
        let starts = text.match_indices('\n').map(|(at, _)| at + 1);
        Self(std::iter::once(0).chain(starts).collect())
    }

    /// The line, from 1, that a byte of the text stands on.
    pub fn of(&self, at: usize) -> usize {
        self.0.partition_point(|start| *start <= at)
    }
}
