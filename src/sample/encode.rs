//! The picture files: what the camera stores, rounded, in four containers without any time stamp.

use std::io::Cursor;

use ndarray::Array2;
use tiff::encoder::compression::DeflateLevel;
use tiff::encoder::{Compression, Predictor, TiffEncoder, colortype};

use super::truth::Container;
use super::{SampleError, palette};
use crate::units::temperature::ZERO_CELSIUS;

/// Kelvin a count in the TIFF files.
pub const TIFF_STEP: f64 = 0.01;
/// Kelvin a count in the PNG files.
pub const PNG_STEP: f64 = 0.02;

/// The bytes of a picture of stored temperatures, K.
///
/// # Errors
/// The encoder's own, which no picture of this size should meet.
pub fn picture(kelvin: &Array2<f64>, container: Container) -> Result<Vec<u8>, SampleError> {
    match container {
        Container::Tiff => tiff(kelvin),
        Container::Png => png(kelvin),
        Container::Csv => Ok(csv(kelvin).into_bytes()),
        Container::Jpeg => palette::picture(kelvin),
    }
}

/// Temperatures, K, as counts in reading order; the cast holds to the range of the type.
fn counts(kelvin: &Array2<f64>, step: f64) -> Vec<u16> {
    let counts = kelvin.iter().map(|kelvin| (kelvin / step).round() as u16);
    counts.collect()
}

/// Width and height as the encoders want them.
fn size(kelvin: &Array2<f64>) -> Result<(u32, u32), SampleError> {
    let side = |length: usize| u32::try_from(length).map_err(|cause| SampleError::encode(&cause));
    Ok((side(kelvin.ncols())?, side(kelvin.nrows())?))
}

fn tiff(kelvin: &Array2<f64>) -> Result<Vec<u8>, SampleError> {
    let (width, height) = size(kelvin)?;
    let mut bytes = Cursor::new(Vec::new());
    TiffEncoder::new(&mut bytes)
        .map(|encoder| {
            encoder
                .with_compression(Compression::Deflate(DeflateLevel::Best))
                .with_predictor(Predictor::Horizontal)
        })
        .and_then(|mut encoder| {
            encoder.write_image::<colortype::Gray16>(width, height, &counts(kelvin, TIFF_STEP))
        })
        .map_err(|cause| SampleError::encode(&cause))?;
    Ok(bytes.into_inner())
}

fn png(kelvin: &Array2<f64>) -> Result<Vec<u8>, SampleError> {
    let (width, height) = size(kelvin)?;
    let samples: Vec<u8> = counts(kelvin, PNG_STEP)
        .into_iter()
        .flat_map(u16::to_be_bytes)
        .collect();
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::Sixteen);
    encoder
        .write_header()
        .and_then(|mut writer| {
            writer.write_image_data(&samples)?;
            writer.finish()
        })
        .map_err(|cause| SampleError::encode(&cause))?;
    Ok(bytes)
}

fn csv(kelvin: &Array2<f64>) -> String {
    let mut text = String::new();
    for row in kelvin.rows() {
        let cells: Vec<String> = row
            .iter()
            .map(|kelvin| format!("{:.1}", kelvin - ZERO_CELSIUS))
            .collect();
        text.push_str(&cells.join(","));
        text.push('\n');
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn small() -> Array2<f64> {
        ndarray::arr2(&[[293.15, 300.004], [326.456, 337.15], [280.0, 999.0]])
    }

    #[test]
    fn counts_are_rounded_and_stay_in_range() {
        assert_eq!(
            counts(&small(), TIFF_STEP),
            [29_315, 30_000, 32_646, 33_715, 28_000, 65_535]
        );
    }

    #[test]
    fn csv_has_a_line_a_row() {
        assert_eq!(csv(&small()), "20.0,26.9\n53.3,64.0\n6.9,725.9\n");
    }

    #[test]
    fn png_and_tiff_give_their_counts_back() {
        let bytes = png(&small()).unwrap();
        let image = image::load_from_memory(&bytes).unwrap();
        assert_eq!(image.into_luma16().into_raw(), counts(&small(), PNG_STEP));

        let bytes = tiff(&small()).unwrap();
        let mut decoder = tiff::decoder::Decoder::new(Cursor::new(bytes)).unwrap();
        assert_eq!(decoder.dimensions().unwrap(), (2, 3));
        let tiff::decoder::DecodingResult::U16(read) = decoder.read_image().unwrap() else {
            panic!("not 16-bit");
        };
        assert_eq!(read, counts(&small(), TIFF_STEP));
    }
}
