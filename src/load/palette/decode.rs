//! Colour pictures of every kind that is read, as rows of red, green and blue.

use std::io::Cursor;

use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader};
use ndarray::Array2;
use zune_core::bytestream::ZCursor;
use zune_core::colorspace::ColorSpace;
use zune_core::options::DecoderOptions;
use zune_jpeg::JpegDecoder;

use super::super::exif::Exif;
use super::super::orientation::oriented;
use super::super::sniff::ColourKind;
use super::super::{LoadError, MAX_BYTES, check_size, png};
use super::lab;
use super::loss::Loss;

/// The most pixels that a byte of a file can stand for; more is a header that lies (deflate packs 1032 bytes into one, from
/// memory).
const MAX_PACKING: u64 = 1032;

/// A picture in colours, upright.
pub(super) struct Colours {
    /// Red, green, blue, rows × columns.
    pub(super) pixels: Array2<[u8; 3]>,
    /// Brightness and the two colour differences (0 is 128) of a picture that was changed to save room, rows × columns: as the
    /// file holds them where it does, so that colours that red, green and blue cannot show are not cut off.
    pub(super) stored: Option<Array2<[u8; 3]>>,
    /// Which pixels are not see-through, where the picture says.
    pub(super) opaque: Option<Array2<bool>>,
    /// Whether colours were changed to save room, and by how much.
    pub(super) loss: Option<Loss>,
    /// In words.
    pub(super) container: String,
    pub(super) pages: usize,
    pub(super) exif: Exif,
}

/// Decodes a colour picture.
///
/// # Errors
/// A damaged, oversized or animated file.
pub(super) fn read(bytes: &[u8], kind: ColourKind) -> Result<Colours, LoadError> {
    let (image, pages, exif) = match kind {
        ColourKind::Png => png::read_colours(bytes)?,
        ColourKind::Jpeg => by_crate(bytes, ImageFormat::Jpeg, "JPEG")?,
        ColourKind::Bmp => by_crate(bytes, ImageFormat::Bmp, "BMP")?,
        ColourKind::WebP => by_crate(bytes, ImageFormat::WebP, "WebP")?,
    };
    let (loss, name) = match kind {
        ColourKind::Jpeg => (Some(Loss::of_jpeg(bytes)), "JPEG"),
        ColourKind::WebP if bytes.get(12..16) != Some(b"VP8L") => (Some(Loss::UNKNOWN), "WebP"),
        ColourKind::WebP => (None, "WebP, lossless"),
        ColourKind::Png => (None, "PNG"),
        ColourKind::Bmp => (None, "BMP"),
    };
    let shape = (image.height() as usize, image.width() as usize);
    let see_through = image.color().has_alpha();
    let (pixels, opaque) = if see_through {
        let stored = image.into_rgba8().into_raw();
        let (quads, _) = stored.as_chunks::<4>();
        let opaque: Vec<bool> = quads.iter().map(|quad| quad[3] == u8::MAX).collect();
        let pixels = quads.iter().map(|&[r, g, b, _]| [r, g, b]).collect();
        (pixels, Some(opaque))
    } else {
        let stored = image.into_rgb8().into_raw();
        (stored.as_chunks::<3>().0.to_vec(), None)
    };
    let stored = loss.map(|_| match kind {
        ColourKind::Jpeg => jpeg_parts(bytes).unwrap_or_else(|| parts(&pixels)),
        _ => parts(&pixels),
    });
    let turn = exif.orientation;
    let pixels = rows_of(pixels, shape, name, turn)?;
    let loss = loss.map(|loss| loss.turned(turn, [pixels.ncols(), pixels.nrows()]));
    let opaque = opaque.map(|list| rows_of(list, shape, name, turn));
    let stored = stored.map(|list| rows_of(list, shape, name, turn));
    Ok(Colours {
        pixels,
        stored: stored.transpose()?,
        opaque: opaque.transpose()?,
        loss,
        container: format!("{name}, colours"),
        pages,
        exif,
    })
}

impl Colours {
    /// The colours that are compared with the bar's, rows × columns: as stored, or red, green and blue.
    pub(super) fn compared(&self) -> &Array2<[u8; 3]> {
        self.stored.as_ref().unwrap_or(&self.pixels)
    }
}

/// Upright rows of what was decoded pixel by pixel.
fn rows_of<T: Copy>(
    list: Vec<T>,
    shape: (usize, usize),
    name: &str,
    turn: u64,
) -> Result<Array2<T>, LoadError> {
    let rows = Array2::from_shape_vec(shape, list).map_err(|_| {
        LoadError::damaged(format!(
            "the {name} picture is smaller than its header says"
        ))
    })?;
    Ok(oriented(rows, turn))
}

/// Brightness and colour differences of a JPEG as it holds them; `None` of one that holds something else (grey, inks).
fn jpeg_parts(bytes: &[u8]) -> Option<Vec<[u8; 3]>> {
    let options = DecoderOptions::default()
        .set_strict_mode(false)
        .set_max_width(usize::MAX)
        .set_max_height(usize::MAX)
        .jpeg_set_out_colorspace(ColorSpace::YCbCr);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    decoder.decode_headers().ok()?;
    if decoder.input_colorspace() != Some(ColorSpace::YCbCr) || decoder.info()?.components != 3 {
        return None;
    }
    let stored = decoder.decode().ok()?;
    Some(stored.as_chunks::<3>().0.to_vec())
}

/// Brightness and colour differences from red, green and blue, to whole levels.
fn parts(pixels: &[[u8; 3]]) -> Vec<[u8; 3]> {
    // Cut at what a byte holds.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let whole = |part: f32| part.round().clamp(0.0, 255.0) as u8;
    pixels
        .iter()
        .map(|&pixel| lab::to_ycc(pixel.map(f32::from)).map(whole))
        .collect()
}

fn by_crate(
    bytes: &[u8],
    format: ImageFormat,
    name: &str,
) -> Result<(DynamicImage, usize, Exif), LoadError> {
    let damaged = |error: image::ImageError| {
        LoadError::damaged(format!("the {name} picture cannot be decoded ({error})"))
    };
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format);
    let mut limits = image::Limits::default();
    limits.max_alloc = Some(MAX_BYTES as u64);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(damaged)?;
    let (width, height) = decoder.dimensions();
    // A block of a JPEG, 64 pixels, takes a bit at the least.
    if format == ImageFormat::Jpeg
        && u64::from(width) * u64::from(height) / 512 > bytes.len() as u64
    {
        return Err(cut_off(name));
    }
    check_packing(width, height, bytes.len(), name)?;
    if decoder.total_bytes() > MAX_BYTES as u64 {
        return Err(LoadError::damaged(format!(
            "the {name} picture is too large"
        )));
    }
    let notes = decoder.exif_metadata().ok().flatten();
    let exif = notes.map_or_else(Exif::default, |block| Exif::of_block(&block));
    let image = DynamicImage::from_decoder(decoder).map_err(damaged)?;
    Ok((image, 1, exif))
}

/// Refuses a size that the file cannot hold, before memory is asked for.
pub(in crate::load) fn check_packing(
    width: u32,
    height: u32,
    bytes: usize,
    name: &str,
) -> Result<(), LoadError> {
    check_size(width.into(), height.into())?;
    if u64::from(width) * u64::from(height) / MAX_PACKING > bytes as u64 {
        return Err(cut_off(name));
    }
    Ok(())
}

fn cut_off(name: &str) -> LoadError {
    LoadError::damaged(format!(
        "the {name} picture is cut off: no picture of its size fits into so few bytes"
    ))
}
