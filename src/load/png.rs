//! Grey PNG pictures of 8 and 16 bits.

use std::io::Cursor;

use image::{DynamicImage, ImageBuffer};
use ndarray::Array2;
use png::{
    BitDepth, ColorType, DecodeOptions, Decoder, Limits, OutputInfo, Reader, Transformations,
};

use super::exif::Exif;
use super::palette::check_packing;
use super::{Decoded, LoadError, MAX_BYTES, Samples, check_size};

/// Deflate packs at most this many bytes into one (zlib's technical details, from memory).
const MAX_PACKING: usize = 1032;

/// Reads the first frame of a grey PNG.
///
/// # Errors
/// A colour picture, a later picture of an animation, a picture of fewer than 8 bits, a damaged or an oversized file.
pub(super) fn read(bytes: &[u8], page: usize) -> Result<Decoded, LoadError> {
    let mut decoder = Decoder::new_with_options(Cursor::new(bytes), options());
    decoder.set_limits(Limits { bytes: MAX_BYTES });
    let header = decoder
        .read_header_info()
        .map_err(|error| damaged(&error))?;
    check_size(header.width.into(), header.height.into())?;
    check_kind(header.color_type, header.bit_depth)?;
    let mut reader = decoder.read_info().map_err(|error| damaged(&error))?;
    let pages = pages(&reader);
    if (2..=pages).contains(&page) {
        return Err(LoadError::unread(
            "the PNG picture is animated; only its first picture is read",
        ));
    }
    let size = size(&reader)?;
    if size / MAX_PACKING > bytes.len() {
        return Err(LoadError::damaged(
            "the PNG picture is cut off: no picture of its size fits into so few bytes",
        ));
    }
    let (stored, frame, exif) = first_frame(&mut reader, size)?;
    let shape = (frame.height as usize, frame.width as usize);
    let wide = frame.bit_depth == BitDepth::Sixteen;
    let samples = samples(stored, shape, wide)
        .map_err(|_| LoadError::damaged("the PNG picture is smaller than its header says"))?;
    Ok(Decoded {
        samples,
        container: format!("PNG, {}-bit unsigned", if wide { 16 } else { 8 }),
        pages,
        exif,
    })
}

/// Whether a PNG holds colours, or grey of few levels, rather than numbers of 16 bits.
pub(super) fn is_picture(bytes: &[u8]) -> bool {
    kind(bytes).is_some_and(|kind| kind != (ColorType::Grayscale, BitDepth::Sixteen))
}

/// Whether a PNG holds colours.
pub(super) fn is_coloured(bytes: &[u8]) -> bool {
    let coloured = [ColorType::Rgb, ColorType::Rgba, ColorType::Indexed];
    kind(bytes).is_some_and(|(colour, _)| coloured.contains(&colour))
}

fn kind(bytes: &[u8]) -> Option<(ColorType, BitDepth)> {
    let mut decoder = Decoder::new_with_options(Cursor::new(bytes), options());
    decoder.set_limits(Limits { bytes: MAX_BYTES });
    let header = decoder.read_header_info().ok()?;
    Some((header.color_type, header.bit_depth))
}

/// Reads the first frame of any PNG as colours of 8 bits, with transparency where it has some.
///
/// # Errors
/// A damaged or an oversized file.
pub(super) fn read_colours(bytes: &[u8]) -> Result<(DynamicImage, usize, Exif), LoadError> {
    let mut decoder = Decoder::new_with_options(Cursor::new(bytes), options());
    decoder.set_limits(Limits { bytes: MAX_BYTES });
    let header = decoder
        .read_header_info()
        .map_err(|error| damaged(&error))?;
    check_packing(header.width, header.height, bytes.len(), "PNG")?;
    decoder.set_transformations(Transformations::normalize_to_color8());
    let mut reader = decoder.read_info().map_err(|error| damaged(&error))?;
    let pages = pages(&reader);
    let size = size(&reader)?;
    let (stored, frame, exif) = first_frame(&mut reader, size)?;
    let (width, height) = (frame.width, frame.height);
    let image = match frame.color_type {
        ColorType::Grayscale => {
            ImageBuffer::from_raw(width, height, stored).map(DynamicImage::ImageLuma8)
        }
        ColorType::GrayscaleAlpha => {
            ImageBuffer::from_raw(width, height, stored).map(DynamicImage::ImageLumaA8)
        }
        ColorType::Rgba => {
            ImageBuffer::from_raw(width, height, stored).map(DynamicImage::ImageRgba8)
        }
        ColorType::Rgb | ColorType::Indexed => {
            ImageBuffer::from_raw(width, height, stored).map(DynamicImage::ImageRgb8)
        }
    };
    let image = image
        .ok_or_else(|| LoadError::damaged("the PNG picture is smaller than its header says"))?;
    Ok((image, pages, exif))
}

/// How many pictures the file holds.
fn pages(reader: &Reader<Cursor<&[u8]>>) -> usize {
    let animation = reader.info().animation_control();
    animation.map_or(1, |animation| animation.num_frames.max(1) as usize)
}

/// Bytes of a decoded picture, within the limit.
fn size(reader: &Reader<Cursor<&[u8]>>) -> Result<usize, LoadError> {
    reader
        .output_buffer_size()
        .filter(|size| *size <= MAX_BYTES)
        .ok_or_else(|| LoadError::damaged("the PNG picture is too large"))
}

/// The decoded bytes of the first picture, what they are, and what the camera noted.
fn first_frame(
    reader: &mut Reader<Cursor<&[u8]>>,
    size: usize,
) -> Result<(Vec<u8>, OutputInfo, Exif), LoadError> {
    let mut stored = vec![0; size];
    let frame = reader
        .next_frame(&mut stored)
        .map_err(|error| damaged(&error))?;
    stored.truncate(frame.buffer_size());
    // What the camera noted may also follow the picture.
    reader.finish().map_err(|error| damaged(&error))?;
    let notes = reader.info().exif_metadata.as_deref();
    let exif = notes.map_or_else(Exif::default, Exif::of_block);
    Ok((stored, frame, exif))
}

fn options() -> DecodeOptions {
    let mut options = DecodeOptions::default();
    // Texts and colour profiles are not needed, and may unpack to far more than the picture.
    options.set_ignore_text_chunk(true);
    options.set_ignore_iccp_chunk(true);
    options.set_ignore_adler32(false);
    // A damaged chunk may be the one that says which way is up.
    options.set_skip_ancillary_crc_failures(false);
    options
}

/// The decoded bytes as numbers, the high byte of each first where they are `wide`.
fn samples(
    stored: Vec<u8>,
    shape: (usize, usize),
    wide: bool,
) -> Result<Samples, ndarray::ShapeError> {
    if !wide {
        return Array2::from_shape_vec(shape, stored).map(Samples::U8);
    }
    let pairs = stored.as_chunks::<2>().0.iter();
    let numbers = pairs.map(|pair| u16::from_be_bytes(*pair)).collect();
    Array2::from_shape_vec(shape, numbers).map(Samples::U16)
}

fn check_kind(colour: ColorType, depth: BitDepth) -> Result<(), LoadError> {
    let kind = match colour {
        ColorType::Grayscale if matches!(depth, BitDepth::Eight | BitDepth::Sixteen) => {
            return Ok(());
        }
        ColorType::Grayscale => {
            return Err(LoadError::unread(format!(
                "the PNG picture has only {} bits a pixel, too few for temperatures",
                depth as u8
            )));
        }
        ColorType::GrayscaleAlpha => {
            return Err(LoadError::unread(
                "the PNG picture has a transparency channel beside its grey one, which is not read",
            ));
        }
        ColorType::Rgb | ColorType::Rgba => "colours (RGB)",
        ColorType::Indexed => "colours (a palette)",
    };
    Err(LoadError::new(
        format!("the PNG picture holds {kind}, not temperatures"),
        super::sniff::COLOURS,
    ))
}

fn damaged(error: &png::DecodingError) -> LoadError {
    LoadError::damaged(format!("the PNG picture cannot be decoded ({error})"))
}
