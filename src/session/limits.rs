//! `limits = "limits.csv"`: the printed limits of many palette pictures, a row each.

use std::collections::HashMap;
use std::io::Read;
use std::path::Path;

use super::reader::{Entry, Table};
use super::value::TEMPERATURES;
use super::{Declared, NamedFile, Run, Span, files};
use crate::units::{self, Dimension, Law};

/// The largest file that is read, bytes.
const MOST_BYTES: u64 = 4 << 20;

/// What to write.
const EXAMPLE: &str = "write a first row file,low,high and a row for each picture, for instance original-1.jpg,20.1 °C,66.3 °C";

/// One row: a picture's limits.
struct Row {
    low: Declared,
    high: Declared,
}

/// Gives every snapshot without limits of its own those of the file's row; names the file where it was read.
pub(super) fn apply(table: &Table<'_>, entry: &Entry<'_>, runs: &mut [Run]) -> Option<NamedFile> {
    let name = table.text_of(entry)?;
    let path = files::resolve(table, entry, name)?;
    // A session that was never a file has no folder to read from.
    table.context.folder?;
    let rows = match read(&path, name, &entry.span()) {
        Ok(rows) => rows,
        Err(problems) => {
            for (what, mend) in problems {
                table.problem(entry.span(), what, mend);
            }
            return None;
        }
    };
    for snapshot in runs.iter_mut().flat_map(|run| &mut run.snapshots) {
        let Some(row) = rows.get(&snapshot.file) else {
            continue;
        };
        if snapshot.low.is_none() && snapshot.high.is_none() {
            snapshot.low = Some(row.low.clone());
            snapshot.high = Some(row.high.clone());
        }
    }
    Some(NamedFile {
        file: name.to_owned(),
        path,
    })
}

type Problems = Vec<(String, String)>;

fn read(path: &Path, name: &str, span: &Span) -> Result<HashMap<String, Row>, Problems> {
    let one = |what: String| vec![(what, EXAMPLE.to_owned())];
    let mut text = String::new();
    std::fs::File::open(path)
        .and_then(|file| file.take(MOST_BYTES + 1).read_to_string(&mut text))
        .map_err(|error| one(format!("{name} cannot be read: {error}")))?;
    if text.len() as u64 > MOST_BYTES {
        return Err(one(format!("{name} is larger than 4 MiB")));
    }
    rows(&text, name, span)
}

/// The rows, by the picture's file.
fn rows(text: &str, name: &str, span: &Span) -> Result<HashMap<String, Row>, Problems> {
    let text = text.trim_start_matches('\u{feff}');
    let head = text.lines().next().unwrap_or_default();
    let separator = [b'\t', b';', b',']
        .into_iter()
        .find(|&mark| head.contains(char::from(mark)))
        .unwrap_or(b',');
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .trim(csv::Trim::All)
        .flexible(true)
        .from_reader(text.as_bytes());
    let heads: Vec<String> = match reader.headers() {
        Ok(heads) => heads.iter().map(str::to_lowercase).collect(),
        Err(error) => return Err(vec![(format!("{name}: {error}"), EXAMPLE.to_owned())]),
    };
    let column = |wanted: &str| heads.iter().position(|head| head == wanted);
    let (Some(file), Some(low), Some(high)) = (column("file"), column("low"), column("high"))
    else {
        let what = format!("{name} has no columns `file`, `low` and `high`");
        return Err(vec![(what, EXAMPLE.to_owned())]);
    };
    let mut rows: HashMap<String, Row> = HashMap::new();
    let mut problems = Vec::new();
    for record in reader.records() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                problems.push((format!("{name}: {error}"), EXAMPLE.to_owned()));
                break;
            }
        };
        let line = record.position().map_or(0, csv::Position::line);
        let cell = |column: usize| record.get(column).unwrap_or_default();
        let picture = cell(file);
        if record.iter().all(str::is_empty) {
            continue;
        }
        let ends = [("low", low), ("high", high)].map(|(key, column)| {
            let place = format!("limits.{picture}.{key}");
            temperature(cell(column), place, span)
                .map_err(|(what, mend)| (format!("{name}, line {line}: `{key}`: {what}"), mend))
        });
        match ends {
            [Ok(low), Ok(high)] if low.value < high.value => {
                if rows.insert(picture.to_owned(), Row { low, high }).is_some() {
                    let what = format!("{name}, line {line}: a second row for {picture}");
                    problems.push((what, "keep one row a picture".to_owned()));
                }
            }
            [Ok(low), Ok(high)] => problems.push((
                format!(
                    "{name}, line {line}: `high` is {}, not above `low`, which is {}",
                    high.written, low.written
                ),
                "write the limits as printed at the bar's ends".to_owned(),
            )),
            ends => problems.extend(ends.into_iter().filter_map(Result::err)),
        }
    }
    if problems.is_empty() {
        Ok(rows)
    } else {
        Err(problems)
    }
}

/// A measured temperature: without limits it has half a unit of its last digit.
fn temperature(written: &str, place: String, span: &Span) -> Result<Declared, (String, String)> {
    let parsed =
        units::parse(written, Dimension::Temperature).map_err(|error| (error.what, error.mend))?;
    let (coldest, hottest) = TEMPERATURES;
    if !(coldest..=hottest).contains(&parsed.value) {
        return Err((
            format!("{written} is not between -73 °C and 1227 °C"),
            "check the number and its unit".to_owned(),
        ));
    }
    let half = parsed.half_last_digit;
    Ok(Declared {
        place,
        dimension: Dimension::Temperature,
        value: parsed.value,
        law: if parsed.limits_stated {
            parsed.law
        } else {
            Law::Rectangular {
                low: parsed.value - half,
                high: parsed.value + half,
            }
        },
        limits_assumed: !parsed.limits_stated,
        sensor: None,
        written: written.to_owned(),
        span: span.clone(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_read_with_any_separator_and_order() {
        for text in [
            "file,low,high\na.jpg,20.1 °C,66.3 °C\n",
            "\u{feff}High;File;Low\n66.3 °C ; a.jpg ;20.1 °C\n;;\n",
            "low\tfile\thigh\textra\n20.1 °C\ta.jpg\t66.3 °C\tx\n",
        ] {
            let rows = rows(text, "limits.csv", &(0..1)).unwrap();
            assert_eq!(rows.len(), 1, "{text}");
            let row = &rows["a.jpg"];
            assert!((row.low.value - 293.25).abs() < 1e-9);
            assert!(row.high.limits_assumed);
            assert_eq!(row.high.place, "limits.a.jpg.high");
        }
    }

    #[test]
    fn all_problems_are_told_with_their_line() {
        let text =
            "file,low,high\na.jpg,20,66 °C\nb.jpg,70 °C,66 °C\nc.jpg,1 °C,2 °C\nc.jpg,1 °C,2 °C\n";
        let problems = rows(text, "limits.csv", &(0..1)).err().unwrap();
        assert_eq!(problems.len(), 3);
        assert!(problems[0].0.starts_with("limits.csv, line 2: `low`"));
        assert!(problems[1].0.contains("line 3") && problems[2].0.contains("second row"));
        let none = rows("a,b\n1,2\n", "limits.csv", &(0..1)).err().unwrap();
        assert!(none[0].0.contains("no columns"));
        assert!(rows("", "limits.csv", &(0..1)).is_err());
    }

    /// Pictures by the hundred thousand: a search of all rows for each would take minutes.
    #[test]
    fn many_rows_do_not_take_long() {
        let mut text = "file,low,high\n".to_owned();
        for picture in 0..110_000 {
            text += &format!("p{picture}.jpg,20.1 °C,66.3 °C\n");
        }
        let start = std::time::Instant::now();
        let rows = rows(&text, "limits.csv", &(0..1)).unwrap();
        assert_eq!(rows.len(), 110_000);
        assert!(start.elapsed().as_secs() < 20, "{:?}", start.elapsed());
    }
}
