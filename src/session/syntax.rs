//! From text to tables: what TOML itself finds wrong, said in words that help.

use std::collections::HashSet;
use std::path::Path;

use toml::de::DeTable;

use super::Span;
use super::blank;
use super::context::{Context, Lines};
use super::reader::Table;
use crate::diagnostics::Problem;

/// Parses the text, lets `read` walk it, and returns what it made of it with all problems.
///
/// Where a line is no TOML, only that is said of it: what the recovered value looks like means nothing.
pub(super) fn with_tables<T>(
    text: &str,
    folder: Option<&Path>,
    read: impl FnOnce(&Table<'_>) -> T,
) -> (T, Vec<Problem>) {
    let lines = Lines::new(text);
    let (repaired, mut problems) = repair_headers(text);
    let (readable, faults) = without_broken_lines(repaired, &lines);
    let (root, errors) = DeTable::parse_recoverable(&readable);
    let runs = root
        .get_ref()
        .iter()
        .find(|(key, _)| key.get_ref() == "run");
    let one_run_table = runs.is_some_and(|(_, value)| value.get_ref().is_table());
    for (span, message) in faults.into_iter().chain(errors.iter().map(fault)) {
        let span = within(text, span);
        let duplicate_run = message == "duplicate key" && text.get(span.clone()) == Some("run");
        // That runs began with something else is said by the reader, in better words.
        if !(duplicate_run && one_run_table) {
            problems.push(explain(text, span, &message));
        }
    }
    problems.sort_by_key(Problem::place);
    let line = |problem: &Problem| problem.span.as_ref().map(|span| lines.of(span.start));
    let mut spoilt = HashSet::new();
    problems.retain(|problem| spoilt.insert(line(problem)));
    // Of a line with a blank only that is said, of each one: what else seems wrong there may come of it.
    let blanks = blank::find(root.get_ref());
    spoilt.extend(blanks.iter().map(line));
    problems.extend(blanks);
    // Where a line is lost altogether, what seems to be absent may stand on it.
    let lost = problems
        .iter()
        .any(|problem| problem.what.starts_with(NOT_UNDERSTOOD));
    let context = Context::new(&readable, folder);
    let table = Table::new(&context, "", 0..0, root.get_ref());
    let made = read(&table);
    drop(table);
    let notes = context.into_notes();
    let lost = lost || notes.lost;
    let absent = notes.absent.into_iter().filter(|_| !lost);
    let noted = notes.problems.into_iter().chain(absent);
    problems
        .extend(noted.filter(|problem| problem.span.is_none() || !spoilt.contains(&line(problem))));
    (made, problems)
}

/// What every message about a line that is lost altogether begins with.
const NOT_UNDERSTOOD: &str = "this is not understood";

/// How often a line is taken out so that the rest can be read.
const MOST_REMOVED: usize = 20;

type Fault = (Span, String);

fn fault(error: &toml::de::Error) -> Fault {
    (error.span().unwrap_or_default(), error.message().to_owned())
}

/// A line that is no `key = value` makes the parser give up the rest of the file. Such lines are overwritten with
/// spaces, byte for byte, and returned as faults.
fn without_broken_lines(mut text: String, lines: &Lines) -> (String, Vec<Fault>) {
    let mut faults: Vec<Fault> = Vec::new();
    for _ in 0..MOST_REMOVED {
        let (_, errors) = DeTable::parse_recoverable(&text);
        let mut broken = errors
            .iter()
            .map(fault)
            .filter(|(_, message)| message.starts_with("key with no value"));
        let Some((span, message)) = broken.next() else {
            break;
        };
        let known = faults
            .iter()
            .any(|(other, _)| lines.of(other.start) == lines.of(span.start));
        let around = line_around(&text, within(&text, span.clone()).start);
        let blank = " ".repeat(around.len());
        drop(broken);
        drop(errors);
        text.replace_range(around, &blank);
        faults.push((span, message));
        if known {
            break;
        }
    }
    (text, faults)
}

/// A stretch of the text that can be shown: inside it, and between characters.
fn within(text: &str, span: Span) -> Span {
    let mut start = span.start.min(text.len());
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    let mut end = span.end.clamp(start, text.len());
    while !text.is_char_boundary(end) {
        end += 1;
    }
    start..end
}

/// Headers with a space in a name would swallow the lines below them. The spaces are made hyphens in a copy, byte for
/// byte, so that the rest can be read, and each such header is a problem.
fn repair_headers(text: &str) -> (String, Vec<Problem>) {
    let mut repaired = String::with_capacity(text.len());
    let mut problems = Vec::new();
    for line in text.split_inclusive('\n') {
        match spaced_header(line) {
            Some((range, header)) => {
                let start = repaired.len() + range.start;
                repaired.push_str(line.get(..range.start).unwrap_or_default());
                repaired.push_str(&header);
                repaired.push_str(line.get(range.end..).unwrap_or_default());
                problems.push(Problem::at(
                    start..start + header.len(),
                    "a name with a space in a header",
                    format!("write {header} here and wherever the name is used, or put the name in quotes"),
                ));
            }
            None => repaired.push_str(line),
        }
    }
    (repaired, problems)
}

/// The header on a line, where a bare name in it holds spaces: its place in the line, and how it could be written.
fn spaced_header(line: &str) -> Option<(Span, String)> {
    let start = line.len() - line.trim_start().len();
    let end = line.rfind(']')? + 1;
    let header = line.get(start..end)?;
    let inside = header.trim_start_matches('[').trim_end_matches(']');
    let open = header.len() - header.trim_start_matches('[').len();
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.' | ' ');
    let named = inside.starts_with(|c: char| c.is_ascii_alphabetic());
    let spaced = inside.split('.').any(|name| name.trim().contains(' '));
    let tail = line.get(end..)?.trim();
    if !(1..=2).contains(&open)
        || !named
        || !spaced
        || !inside.chars().all(plain)
        || !(tail.is_empty() || tail.starts_with('#'))
    {
        return None;
    }
    let hyphened = format!(
        "{}{}{}",
        "[".repeat(open),
        inside.replace(' ', "-"),
        "]".repeat(header.len() - open - inside.len())
    );
    Some((start..end, hyphened))
}

/// Says one of TOML's errors in words that help.
fn explain(text: &str, span: Span, message: &str) -> Problem {
    let line = line_around(text, span.start);
    let found = text.get(span.clone()).unwrap_or_default();
    let rest = text.get(span.start..line.end).unwrap_or_default();
    if message.starts_with("string values must be quoted") {
        return unquoted(span, found, text.get(line).unwrap_or_default());
    }
    if message.starts_with("duplicate key") {
        let what = format!("`{found}` stands twice");
        return Problem::at(span, what, "keep one, or give the second another name");
    }
    if rest.starts_with(',')
        && let Some(problem) = decimal_comma(text, &line, span.start)
    {
        return problem;
    }
    if message.contains("unicode") || message.contains("escape") {
        let what = "a backslash in a quoted text begins a special character";
        return Problem::at(span, what, "write `/` between folder and file");
    }
    if message.starts_with("invalid mantissa")
        || message.starts_with("invalid fraction")
        || rest.starts_with('.')
    {
        return bare_point(text, span);
    }
    if message.contains("leading zero") {
        return Problem::at(
            span,
            "a number with a zero too many in front",
            "write it without",
        );
    }
    if message.starts_with("invalid basic string")
        || message.starts_with("invalid literal string")
        || message.contains("multi-line")
    {
        return Problem::at(
            span,
            "a quotation mark that is not closed on its line",
            "put \" at both ends of the text",
        );
    }
    let mut mend = "the form is key = \"value\", one to a line, below a header such as [conditions] or [[run]]";
    if text
        .get(line)
        .is_some_and(|line| line.trim_start().starts_with('['))
    {
        mend = "a header is [name], [name.name] or [[name]], alone on its line";
    }
    Problem::at(span, format!("{NOT_UNDERSTOOD}: {message}"), mend)
}

/// `.95` or `5.`: TOML wants a digit on both sides.
fn bare_point(text: &str, span: Span) -> Problem {
    let numeric = |byte: &u8| byte.is_ascii_digit() || *byte == b'.';
    let before = text.get(..span.start).unwrap_or_default();
    let after = text.get(span.start..).unwrap_or_default();
    let start = span.start - before.bytes().rev().take_while(numeric).count();
    let end = span.start + after.bytes().take_while(numeric).count();
    let number = text.get(start..end).unwrap_or_default();
    let whole = if number.starts_with('.') { "0" } else { "" };
    let tail = if number.ends_with('.') { "0" } else { "" };
    let what = format!("`{number}` begins or ends with its point");
    Problem::at(start..end, what, format!("write {whole}{number}{tail}"))
}

fn line_around(text: &str, at: usize) -> Span {
    let start = text
        .get(..at)
        .and_then(|before| before.rfind('\n'))
        .map_or(0, |end| end + 1);
    let end = text
        .get(at..)
        .and_then(|after| after.find('\n'))
        .map_or(text.len(), |end| at + end);
    start..end
}

fn unquoted(span: Span, found: &str, line: &str) -> Problem {
    if found.is_empty() {
        let key = line.split('=').next().unwrap_or_default().trim();
        let what = format!(
            "`{}` has no value",
            key.chars().take(40).collect::<String>()
        );
        return Problem::at(span, what, "write a value after `=`, or take the line out");
    }
    let smart = |c: char| matches!(c, '“' | '”' | '„' | '‟' | '«' | '»' | '‘' | '’' | '‚');
    if found.contains(smart) {
        let inner = found.trim_matches(smart);
        let what = "typographic quotation marks";
        return Problem::at(span, what, format!("write plain ones: \"{inner}\""));
    }
    let what = format!("`{found}` needs quotation marks");
    Problem::at(span, what, format!("write \"{found}\""))
}

/// `0,95` reads as a number and then something more.
fn decimal_comma(text: &str, line: &Span, comma: usize) -> Option<Problem> {
    let before = text.get(line.start..comma)?;
    let whole: usize = before.bytes().rev().take_while(u8::is_ascii_digit).count();
    let after = text.get(comma + 1..line.end)?;
    let decimals = after.bytes().take_while(u8::is_ascii_digit).count();
    if whole == 0 || decimals == 0 {
        return None;
    }
    let span = comma - whole..comma + 1 + decimals;
    let number = text.get(span.clone())?;
    let what = format!("`{number}` has a decimal comma");
    Some(Problem::at(
        span,
        what,
        format!("write a point: {}", number.replace(',', ".")),
    ))
}
