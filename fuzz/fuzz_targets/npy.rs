//! NPY arrays.
#![no_main]

use endtank_fuzz::File;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|file: File<'_>| file.read(&[b"\x93NUMPY\x01\0", b"\x93NUMPY\x02\0"]));
