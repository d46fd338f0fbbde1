//! What several test files need.
#![allow(dead_code)]

pub mod containers;
