use super::*;
use ndarray::array;

fn refusal(bytes: &[u8]) -> String {
    read(bytes, 1).unwrap_err().what
}

#[test]
fn binary_and_text_hold_the_same_numbers() {
    for bytes in [
        &b"P5 # made up\n# twice\n2 2\n511\n\x01\x02\x00\x0A\x00\x00\x01\xFF"[..],
        b"P2\n2\t2 # size\n511\n258 10 # first row\n0 511",
    ] {
        let decoded = read(bytes, 1).unwrap();
        let Samples::U16(array) = decoded.samples else {
            panic!("not 16-bit");
        };
        assert_eq!(array, array![[258, 10], [0, 511]]);
        assert_eq!(decoded.pages, 1);
    }
    // The first number looks like a line end, the second like a comment.
    let Samples::U8(array) = read(b"P5 2 1 255 \n#", 1).unwrap().samples else {
        panic!("not 8-bit");
    };
    assert_eq!(array, array![[10, 35]]);
}

#[test]
fn each_picture_of_a_binary_file_can_be_asked_for() {
    let bytes = b"P5 1 1 255 AP5 1 1 255 B\nP5 1 1 255 C\n";
    for (page, number) in [(1, b'A'), (2, b'B'), (3, b'C')] {
        let decoded = read(bytes, page).unwrap();
        assert_eq!(decoded.pages, 3);
        let Samples::U8(array) = decoded.samples else {
            panic!("not 8-bit");
        };
        assert_eq!(array, array![[number]]);
    }
    let beyond = read(bytes, 4).unwrap_err();
    assert!(beyond.what.contains("3"), "{beyond}");
}

#[test]
fn lies_and_cuts_are_refused() {
    for (bytes, word) in [
        (&b"P5"[..], "header"),
        (b"P5 2 2", "header"),
        (b"P5 2 2 255", "header"),
        (b"P5 2 2 0 abcd", "between 1 and 65535"),
        (b"P5 2 2 65536 abcd", "between 1 and 65535"),
        (b"P5 0 2 255 abcd", "0 × 2"),
        (b"P5 99999 99999 255 abcd", "100 million"),
        (b"P5 99999999999999999999 1 255 abcd", "header"),
        (b"P5 2 2 255 abc", "needs 4 bytes of numbers and has 3"),
        (b"P5 2 2 255 abcde", "header"),
        (b"P5 2 2 97 abcd", "holds 98, above"),
        (b"P5 1 1 300 \x2C\x01", "holds 11265, above"),
        (b"P2 2 2 255 1 2 3", "needs 4 numbers and has 3"),
        (b"P2 2 2 255 1 2 3 4 5", "after number 4"),
        (b"P2 2 2 255 1 x 3 4", "after number 1"),
        (b"P2 2 2 255 1 2 3 300", "holds 300, above"),
        (b"P2 9999 9999 255 1 2 3", "has 3"),
    ] {
        let what = refusal(bytes);
        assert!(what.contains(word), "{word}: {what}");
    }
}

#[test]
fn text_that_merely_begins_alike_is_no_pgm() {
    assert!(is_pgm(b"P5\n3 3\n255\n"));
    assert!(is_pgm(b"P2#comment\n3 3"));
    for text in [
        &b"P5"[..],
        b"P5;1;2",
        b"P5 left;right\n1;2",
        b"P2\n23.5;24\n",
        b"P50 1",
    ] {
        assert!(!is_pgm(text));
    }
}
