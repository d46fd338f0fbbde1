//! Text matrices as people write them, and as nobody should.

use super::*;
use proptest::prelude::*;

fn numbers(text: &[u8]) -> Array2<f64> {
    match read(text).unwrap().samples {
        Samples::F64(array) => array,
        other => panic!("{other:?}"),
    }
}

fn complaint(text: &str) -> String {
    read(text.as_bytes()).unwrap_err().what
}

/// Equal, with invalid pixels equal to each other.
fn assert_same(found: &Array2<f64>, expected: &[&[f64]]) {
    assert_eq!(found.nrows(), expected.len());
    for (row, expected) in found.rows().into_iter().zip(expected) {
        assert_eq!(row.len(), expected.len());
        for (one, other) in row.iter().zip(*expected) {
            assert!(one == other || one.is_nan() && other.is_nan(), "{found:?}");
        }
    }
}

#[test]
fn separators_and_decimal_marks_are_recognised() {
    let expected: &[&[f64]] = &[&[23.5, 24.0], &[-1.25, 30.0]];
    for text in [
        "23.5,24\n-1.25,30\n",
        "23.5;24\n-1.25;30\n",
        "23,5;24\n-1,25;30\n",
        "23,5\t24\n\u{2212}1,25\t30",
        "23.5\t24\r\n-1.25\t30\r\n",
        "\"23.5\",\"24\"\n\"-1.25\",\"30\"\n",
        "\u{FEFF}23,5;24\n\n-1,25;3e1\n\n",
    ] {
        assert_same(&numbers(text.as_bytes()), expected);
    }
}

#[test]
fn quoted_decimal_commas_are_not_cut_in_two() {
    assert!(complaint("\"23,5\",\"24,1\"\n").contains("no line of numbers"));
    assert_same(&numbers(b"\"23,5\";'24,1'\n"), &[&[23.5, 24.1]]);
}

#[test]
fn whole_numbers_with_commas_are_two_columns() {
    assert_same(&numbers(b"23,24\n25,26\n"), &[&[23.0, 24.0], &[25.0, 26.0]]);
}

#[test]
fn one_line_and_one_column_are_pictures_too() {
    assert_same(&numbers(b"1,2,3"), &[&[1.0, 2.0, 3.0]]);
    assert_same(&numbers(b"1.5\n2.5\n"), &[&[1.5], &[2.5]]);
}

#[test]
fn headings_are_skipped_in_utf8_and_latin1() {
    let expected: &[&[f64]] = &[&[23.5, 24.0], &[25.0, 26.0]];
    let utf8 = "Object; tank\nUnit: °C\nÉmissivité;0,95;x\n\n23,5;24\n25;26\n";
    assert_same(&numbers(utf8.as_bytes()), expected);
    let latin1: Vec<u8> = utf8.chars().map(|c| c as u8).collect();
    assert!(std::str::from_utf8(&latin1).is_err());
    assert_same(&numbers(&latin1), expected);
    assert_same(&numbers(b"sep=;\n23,5;24\n25;26\n"), expected);
    assert_same(&numbers(b"left,right\n23.5,24\n25,26\n"), expected);
}

#[test]
fn blank_and_nan_cells_are_invalid_pixels() {
    let nan = f64::NAN;
    assert_same(
        &numbers(b"NaN,1,\n,nan,2\n,,\n"),
        &[&[nan, 1.0, nan], &[nan, nan, 2.0], &[nan, nan, nan]],
    );
}

#[test]
fn rows_of_invalid_pixels_above_the_first_number_keep_their_place() {
    let nan = f64::NAN;
    let expected: &[&[f64]] = &[&[nan, nan], &[nan, nan], &[1.0, 2.0], &[nan, nan]];
    for text in [
        "NaN,NaN\n,\n1,2\n,\n",
        "title\n,\nNaN,\n1,2\n,\n",
        "\t\n\t\n1\t2\n\t\n",
    ] {
        assert_same(&numbers(text.as_bytes()), expected);
    }
    assert_same(
        &numbers(b"left,right\nNaN,\n1,2\n"),
        &[&[nan, nan], &[1.0, 2.0]],
    );
    let error = complaint("title;\n;\n1;2\n");
    assert!(error.contains("line 2 may be a blank line"), "{error}");
}

#[test]
fn a_separator_at_the_end_of_all_rows_opens_no_column() {
    assert_same(&numbers(b"1;2;\n3;4;\n"), &[&[1.0, 2.0], &[3.0, 4.0]]);
    let error = complaint("1;2;\n3;4\n");
    assert!(
        error.contains("line 2 has 2 cells, line 1 has 3"),
        "{error}"
    );
}

#[test]
fn a_faulty_cell_is_named_wherever_it_stands() {
    for (text, place) in [
        ("h\n1,2,3\n4,x,6\n", "line 3, column 2 (\"x\")"),
        ("1,x,3\n4,5,6\n", "line 1, column 2 (\"x\")"),
        (
            "row 1,2,3\nrow 2,5,6\n1,2,3\n",
            "line 2, column 1 (\"row 2\")",
        ),
        ("1,2\nmaximum,2\n", "line 2, column 1 (\"maximum\")"),
        ("1,2\ninfo,2\n", "line 2, column 1 (\"info\")"),
        ("1,2\n1e999,2\n", "line 2, column 1 (\"1e999\")"),
        ("1;2\n1.234,5;2\n", "line 2, column 1 (\"1.234,5\")"),
        ("1,5;2\n3;2.5\n", "line 2, column 2 (\"2.5\") has \".\""),
    ] {
        let error = complaint(text);
        assert!(error.contains(place), "{text:?}: {error}");
    }
}

#[test]
fn column_numbers_are_not_taken_for_temperatures() {
    let error = complaint(",0,1,2,3\n0,20,21,22,23\n");
    assert!(
        error.contains("line 1 looks like column numbers"),
        "{error}"
    );
}

#[test]
fn text_without_numbers_says_what_is_needed() {
    for text in ["hello\n", "a,b\nc,d\n", ",,\n", "20.1 20.2\n"] {
        assert!(complaint(text).contains("no line of numbers"), "{text}");
    }
}

#[test]
fn many_faults_are_counted() {
    let error = complaint(&format!("1,2\n{}", "x,2\n".repeat(40)));
    assert!(error.contains("line 6, column 1"), "{error}");
    assert!(!error.contains("line 7,"), "{error}");
    assert!(error.ends_with("and 35 more"), "{error}");
}

prop_compose! {
    fn rows()(width in 1_usize..8)(
        rows in proptest::collection::vec(
            proptest::collection::vec(
                // The first number is always valid, so that no first row is without numbers.
                proptest::option::weighted(0.9, -400_000_i32..2_000_000), width),
            1..12)
    ) -> Vec<Vec<Option<i32>>> { rows }
}

fn write(rows: &[Vec<Option<i32>>], separator: char, mark: char, end: &str) -> String {
    let cell = |cell: &Option<i32>| {
        cell.map_or_else(
            || "NaN".to_owned(),
            |n| format!("{:.3}", f64::from(n) / 1000.0).replace('.', &mark.to_string()),
        )
    };
    rows.iter()
        .map(|row| {
            let cells: Vec<_> = row.iter().map(cell).collect();
            cells.join(&separator.to_string()) + end
        })
        .collect()
}

proptest! {
    #[test]
    fn what_is_written_is_read(
        mut rows in rows(),
        (separator, mark) in prop_oneof![
            Just((',', '.')), Just((';', '.')), Just((';', ',')), Just(('\t', '.')), Just(('\t', ','))],
        end in prop_oneof![Just("\n"), Just("\r\n")],
    ) {
        rows[0][0] = Some(20_000);
        // One column and decimal commas are two columns of whole numbers to anyone.
        prop_assume!(rows[0].len() > 1 || mark == '.');
        let found = numbers(write(&rows, separator, mark, end).as_bytes());
        prop_assert_eq!(found.dim(), (rows.len(), rows[0].len()));
        for (found, written) in found.iter().zip(rows.iter().flatten()) {
            match written {
                Some(n) => prop_assert!((found - f64::from(*n) / 1000.0).abs() < 1e-9),
                None => prop_assert!(found.is_nan()),
            }
        }
    }

    #[test]
    fn a_ragged_row_is_named_by_its_line(mut rows in rows(), at in 1_usize..12, longer: bool) {
        prop_assume!(rows[0].len() > 2 && rows.len() > 1);
        rows[0][0] = Some(20_000);
        let at = 1 + (at - 1) % (rows.len() - 1);
        let width = rows[at].len();
        rows[at].resize(if longer { width + 1 } else { width - 1 }, Some(1));
        let error = complaint(&write(&rows, ';', '.', "\n"));
        let line = format!("line {} has {} cells", at + 1, rows[at].len());
        prop_assert!(error.contains(&line), "{}", error);
    }

    #[test]
    fn no_text_panics(text in "[0-9.,;\t\n\r\"a-eN°-]{0,80}") {
        let _ = read(text.as_bytes());
    }
}
