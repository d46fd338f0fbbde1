//! Text in columns of characters: wrapping, padding, and what a terminal must not obey.

use unicode_width::UnicodeWidthStr;

use crate::report::number::NO_BREAK_SPACE;

/// Between columns, and before what belongs to the line above.
pub const GAP: &str = "  ";

/// A line of a table: the label to the left, the first `numbers` cells to the right, other words to the left.
pub fn lay_out(
    label: &str,
    label_width: usize,
    cells: &[String],
    widths: &[usize],
    numbers: usize,
) -> String {
    let pad = |text: &str, width: usize| " ".repeat(width.saturating_sub(text.width()));
    let mut line = format!("{label}{}", pad(label, label_width));
    for (index, (cell, &width)) in cells.iter().zip(widths).enumerate() {
        line.push_str(GAP);
        let padding = pad(cell, width);
        let (before, after) = if index < numbers {
            (padding.as_str(), "")
        } else {
            ("", padding.as_str())
        };
        line.push_str(before);
        line.push_str(cell);
        line.push_str(after);
    }
    line
}

/// Breaks words into lines of at most `width` columns at spaces; a longer word has a line of its own. No-break spaces
/// hold.
pub fn wrap(words: &str, width: usize) -> Vec<String> {
    let words = hold_units(words);
    let mut lines: Vec<String> = Vec::new();
    for word in words
        .split([' ', '\n', '\t', '\r'])
        .filter(|word| !word.is_empty())
    {
        match lines.last_mut() {
            Some(line) if line.width() + 1 + word.width() <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// Keeps a value in running words together: "18 °C ± 0.5" does not break.
fn hold_units(words: &str) -> String {
    let mut held = words.to_owned();
    for sign in ["°C", "±", "%"] {
        held = held.replace(&format!(" {sign}"), &format!("{NO_BREAK_SPACE}{sign}"));
    }
    held.replace("± ", &format!("±{NO_BREAK_SPACE}"))
}

/// Words from a session may hold control characters, which a terminal would obey.
pub fn harmless(words: &str) -> String {
    words
        .chars()
        .map(|c| {
            if c.is_control() {
                char::REPLACEMENT_CHARACTER
            } else {
                c
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_wrap_and_values_hold_together() {
        assert_eq!(wrap("one two three", 7), ["one two", "three"]);
        assert_eq!(
            wrap("at 18 °C ± 0.5 now", 8),
            ["at", "18\u{a0}°C\u{a0}±\u{a0}0.5", "now"]
        );
        assert_eq!(wrap("unbreakable", 4), ["unbreakable"]);
        assert!(wrap(" \n", 4).is_empty());
    }

    #[test]
    fn columns_line_up_by_what_is_seen() {
        let row = |label: &str, cell: &str| lay_out(label, 8, &[cell.to_owned()], &[8], 1);
        // kg/m³ and µ take one column a character, 漢 takes two.
        assert_eq!(row("µ", "1 kg/m³").width(), row("漢", "20 °C").width());
    }
}
