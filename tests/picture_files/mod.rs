//! The picture files written by tests/reference/containers.py.
#![allow(dead_code)]

use std::path::PathBuf;

pub fn data(path: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(path)
}

/// Name, type of numbers (empty where the file must be refused) and bytes of each file.
pub fn files() -> Vec<(String, String, Vec<u8>)> {
    let joined = std::fs::read(data("containers/containers.bin")).unwrap();
    csv::Reader::from_path(data("containers/containers.csv"))
        .unwrap()
        .records()
        .map(|record| {
            let record = record.unwrap();
            let offset: usize = record[2].parse().unwrap();
            let length: usize = record[3].parse().unwrap();
            (
                record[0].to_owned(),
                record[1].to_owned(),
                joined[offset..offset + length].to_vec(),
            )
        })
        .collect()
}

/// The numbers that a file of a type holds, by row.
pub fn expected(kind: &str) -> Vec<f64> {
    csv::Reader::from_path(data("containers/numbers.csv"))
        .unwrap()
        .records()
        .map(Result::unwrap)
        .filter(|record| &record[0] == kind)
        .flat_map(|record| {
            let numbers = record.iter().skip(2);
            if ["f16", "f32"].contains(&kind) {
                let single = |n: &str| f64::from(n.parse::<f32>().unwrap());
                numbers.map(single).collect::<Vec<f64>>()
            } else {
                numbers.map(|n| n.parse().unwrap()).collect()
            }
        })
        .collect()
}
