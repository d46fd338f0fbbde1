//! PGM pictures.
#![no_main]

use endtank_fuzz::File;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|file: File<'_>| file.read(&[b"P5 ", b"P2 "]));
