//! The session file's reader and its messages.
#![no_main]

use std::path::Path;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    if let Err(problems) = endtank::session::from_text(Path::new("session.toml"), text) {
        assert!(!problems.list.is_empty());
        assert!(!problems.render(false).is_empty());
    }
});
