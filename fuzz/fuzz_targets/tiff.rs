//! TIFF pictures.
#![no_main]

use endtank_fuzz::File;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|file: File<'_>| file.read(&[b"II*\0", b"MM\0*"]));
