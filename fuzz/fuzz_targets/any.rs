//! Files of any kind: text matrices, and what is refused.
#![no_main]

use endtank_fuzz::File;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|file: File<'_>| file.read(&[b""]));
