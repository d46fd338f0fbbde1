//! What the fuzz targets of the readers share.

use arbitrary::Arbitrary;
use endtank::load::{self, Wanted};
use endtank::session::Pixels;

/// A picture file and what is asked of it.
#[derive(Debug, Arbitrary)]
pub struct File<'a> {
    /// Which of the container's magic words it begins with.
    magic: u8,
    page: Option<u8>,
    stated: bool,
    rest: &'a [u8],
}

impl File<'_> {
    /// Reads the file behind one of the magic words; whatever is read must keep a thermal image's promises.
    pub fn read(&self, magic_words: &[&[u8]]) {
        let magic = magic_words[usize::from(self.magic) % magic_words.len()];
        let counts = Pixels::Linear {
            step: 0.01,
            zero: 0.0,
        };
        let wanted = Wanted {
            pixels: self.stated.then_some(&counts),
            page: self.page.map(usize::from),
            ..Wanted::default()
        };
        match load::read(&[magic, self.rest].concat(), wanted) {
            Ok(image) => {
                let (width, height) = (image.width(), image.height());
                assert!(width > 0 && height > 0);
                assert!(
                    wanted
                        .page
                        .is_none_or(|page| (1..=image.pages).contains(&page))
                );
                let _ = image.shown(width - 1, height - 1);
                if let Some(captured) = image.captured {
                    let _ = captured.to_string();
                }
            }
            Err(error) => assert!(!error.what.is_empty() && !error.mend.is_empty()),
        }
    }
}
