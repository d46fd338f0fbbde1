use super::*;

/// An NPY file of version 1.
fn npy(header: &str, body: &[u8]) -> Vec<u8> {
    let mut bytes = b"\x93NUMPY\x01\0".to_vec();
    bytes.extend((header.len() as u16).to_le_bytes());
    bytes.extend(header.as_bytes());
    bytes.extend(body);
    bytes
}

fn header(descr: &str, by_column: &str, shape: &str) -> String {
    format!("{{'descr': '{descr}', 'fortran_order': {by_column}, 'shape': {shape}, }}   \n")
}

fn refusal(bytes: &[u8]) -> String {
    read(bytes).unwrap_err().what
}

#[test]
fn rows_or_columns_come_first() {
    let body: Vec<u8> = (1..=6).collect();
    for (by_column, wanted) in [
        ("False", [[1, 2, 3], [4, 5, 6]]),
        ("True", [[1, 3, 5], [2, 4, 6]]),
    ] {
        let decoded = read(&npy(&header("|u1", by_column, "(2, 3)"), &body)).unwrap();
        let Samples::U8(array) = decoded.samples else {
            panic!("not 8-bit");
        };
        assert_eq!(array, ndarray::arr2(&wanted));
        assert!(array.is_standard_layout());
    }
}

/// Values from the table of examples in "Half-precision floating-point format" (from memory of IEEE 754-2008):
/// 0x3555 is 0.333251953125 = 1365/4096, 0x7BFF the largest, 0x0001 the smallest.
#[test]
fn halves_are_exact() {
    for (bits, number) in [
        (0x0000, 0.0),
        (0x3C00, 1.0),
        (0xC000, -2.0),
        (0x3555, 1365.0 / 4096.0),
        (0x7BFF, 65_504.0),
        (0x0400, 2.0_f32.powi(-14)),
        (0x03FF, 1023.0 * 2.0_f32.powi(-24)),
        (0x0001, 2.0_f32.powi(-24)),
        (0xFC00, f32::NEG_INFINITY),
    ] {
        assert_eq!(half(bits), number, "{bits:#x}");
    }
    assert!(half(0x7E00).is_nan());
}

#[test]
fn other_shapes_and_types_are_refused_by_name() {
    let of = |descr: &str, shape: &str| refusal(&npy(&header(descr, "False", shape), &[0; 24]));
    assert!(of("<f4", "(1, 2, 3)").contains("3 dimensions (1 × 2 × 3)"));
    assert!(of("<f4", "(6,)").contains("1 dimensions (6)"));
    assert!(of("<f4", "()").contains("0 dimensions"));
    for kind in ["<i8", "<u8", "<c8", "|b1", "|i1", "|O", "<U4", "f4"] {
        assert!(
            of(kind, "(2, 3)").contains(&format!("\"{kind}\"")),
            "{kind}"
        );
    }
    let fields = "{'descr': [('t', '<f4')], 'fortran_order': False, 'shape': (2, 3), }";
    assert!(refusal(&npy(fields, &[0; 24])).contains("structures"));
}

#[test]
fn lies_and_cuts_are_refused() {
    let of = |shape: &str| refusal(&npy(&header("<f4", "False", shape), &[0; 24]));
    assert!(of("(4000000000, 4000000000)").contains("100 million"));
    assert!(of("(18446744073709551616, 1)").contains("header"));
    assert!(of("(0, 3)").contains("3 × 0"));
    assert!(of("(2, 4)").contains("promises 32 bytes of numbers, the file holds 24"));
    assert!(of("(2, 2)").contains("promises 16"));
    assert!(of("(2, -3)").contains("header"));
    assert!(refusal(b"\x93NUMPY\x01\0\xFF\xFF{").contains("ends before"));
    assert!(refusal(b"\x93NUMPY\x09\0\x01\0{").contains("version 9"));
    for broken in [
        "",
        "{",
        "{}",
        "{'descr': '<f4'}",
        "{'descr': '<f4', 'fortran_order': Maybe, 'shape': (2, 3)}",
        "{'descr': '<f4', 'fortran_order': False, 'shape': (2 3)}",
        "{'descr': '<f4', 'fortran_order': False, 'shape': (2, 3)} 5",
        "{'descr': '<f4', 'fortran_order': False, 'shape': (2, 3), 'more': 1}",
    ] {
        assert!(
            refusal(&npy(broken, &[0; 24])).contains("header"),
            "{broken}"
        );
    }
}
