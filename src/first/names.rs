//! What file names tell: an order, coolers and views.

use std::cmp::Ordering;

/// More groups of names than anyone compares coolers: they are not coolers then.
const MOST_COOLERS: usize = 6;

/// A text in which control characters, which would move a terminal's cursor or end a remark, are replaced.
pub(super) fn printable(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() { '\u{fffd}' } else { c })
        .collect()
}

/// A name without its ending.
pub(super) fn stem(file: &str) -> &str {
    match file.rsplit_once('.') {
        Some((stem, _)) if !stem.is_empty() => stem,
        _ => file,
    }
}

/// The order of names with numbers in them: `hold 2` before `hold 10`.
pub(super) fn in_order(one: &str, other: &str) -> Ordering {
    pieces(one).cmp(&pieces(other)).then_with(|| one.cmp(other))
}

/// Runs of digits, by length and then value, and the characters between them.
fn pieces(name: &str) -> Vec<(usize, String)> {
    let mut pieces: Vec<(usize, String)> = Vec::new();
    for c in name.chars() {
        match pieces.last_mut() {
            Some((digits, text)) if c.is_ascii_digit() && *digits > 0 => {
                // A leading zero counts for nothing.
                if text == "0" {
                    text.clear();
                    *digits -= 1;
                }
                text.push(c);
                *digits += 1;
            }
            _ => pieces.push((usize::from(c.is_ascii_digit()), c.to_lowercase().collect())),
        }
    }
    pieces
}

/// A name for a key: small letters, digits and hyphens; `fallback` where nothing is left.
pub(super) fn key(name: &str, fallback: &str) -> String {
    let mut key = String::new();
    for c in name.chars() {
        if c.is_ascii_alphanumeric() {
            key.push(c.to_ascii_lowercase());
        } else if !key.is_empty() && !key.ends_with('-') {
            key.push('-');
        }
    }
    let key = key.trim_end_matches('-');
    if key.is_empty() { fallback } else { key }.to_owned()
}

/// A cooler as the names of its pictures suggest it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Cooler {
    /// Its key in the session.
    pub key: String,
    /// What the pictures are called without their number.
    pub label: String,
}

/// The coolers, in the order of their first pictures, and the number of each picture's. Names such as `original-1` and
/// `replacement-2` tell coolers apart; where they do not, all pictures are of one, and the label is empty.
pub(super) fn coolers(files: &[&str]) -> (Vec<Cooler>, Vec<usize>) {
    let mut coolers: Vec<Cooler> = Vec::new();
    let mut of_file = Vec::new();
    for file in files {
        let counted = |c: char| c.is_ascii_digit() || " -_.()#".contains(c);
        let label = stem(file).trim_end_matches(counted).trim();
        let key = key(label, "cooler-a");
        let known = coolers.iter().position(|cooler| cooler.key == key);
        of_file.push(known.unwrap_or(coolers.len()));
        if known.is_none() {
            coolers.push(Cooler {
                key,
                label: label.to_owned(),
            });
        }
    }
    if (2..=MOST_COOLERS).contains(&coolers.len()) {
        return (coolers, of_file);
    }
    let one = Cooler {
        key: "cooler-a".to_owned(),
        label: String::new(),
    };
    (vec![one], vec![0; files.len()])
}

/// A name of its own for the view of each picture.
pub(super) fn views(files: &[&str]) -> Vec<String> {
    let mut views: Vec<String> = Vec::new();
    for file in files {
        let base = key(stem(file), "view");
        let numbered = |number: usize| match number {
            1 => base.clone(),
            _ => format!("{base}-{number}"),
        };
        let free = (1..=files.len() + 1)
            .map(numbered)
            .find(|name| !views.contains(name));
        views.push(free.unwrap_or(base));
    }
    views
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_in_names_are_counted() {
        let mut names = ["hold 10.csv", "hold 9.csv", "Hold 1.csv", "hold 002.csv"];
        names.sort_by(|one, other| in_order(one, other));
        assert_eq!(
            names,
            ["Hold 1.csv", "hold 002.csv", "hold 9.csv", "hold 10.csv"]
        );
    }

    #[test]
    fn coolers_are_told_by_names_where_they_can() {
        let keys = |files: &[&str]| -> (Vec<String>, Vec<usize>) {
            let (coolers, of_file) = coolers(files);
            (
                coolers.into_iter().map(|cooler| cooler.key).collect(),
                of_file,
            )
        };
        let sample = [
            "original-1.tiff",
            "replacement-1.tiff",
            "original-2.png",
            "Original (3).csv",
        ];
        let both = vec!["original".to_owned(), "replacement".to_owned()];
        assert_eq!(keys(&sample), (both, vec![0, 1, 0, 0]));
        let one = vec!["cooler-a".to_owned()];
        assert_eq!(
            keys(&["IMG_0001.jpg", "IMG_0002.jpg"]),
            (one.clone(), vec![0, 0])
        );
        assert_eq!(keys(&["1.csv", "2.csv"]), (one.clone(), vec![0, 0]));
        let many = [
            "a.csv", "b.csv", "c.csv", "d.csv", "e.csv", "f.csv", "g.csv",
        ];
        assert_eq!(keys(&many), (one, vec![0; 7]));
    }

    #[test]
    fn views_have_names_of_their_own() {
        let files = [
            "a 1.csv",
            "a-1.png",
            "Käse \"1\".csv",
            "???.csv",
            "a-1-2.csv",
            "…",
            "a_1.x",
        ];
        let views = views(&files);
        assert_eq!(
            views,
            [
                "a-1", "a-1-2", "k-se-1", "view", "a-1-2-2", "view-2", "a-1-3"
            ]
        );
    }
}
