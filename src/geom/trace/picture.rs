//! A picture, decoded and the right way up.
//!
//! The number of pixels that a file states is checked before any memory is allocated. Sixteen bits a
//! channel, palettes and CMYK come out as what they show. Animations give their first frame.

use std::io::Cursor;

use glam::DVec2;
use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader, Limits, metadata::Orientation};

use super::{TraceError, jpeg_end};

/// Most pixels of a picture: more than the cameras of telephones make.
pub const MOST_PIXELS: u64 = 64_000_000;
/// Most bytes that decoding may allocate.
const MOST_BYTES: u64 = 1 << 30;

/// A picture, the right way up.
#[derive(Debug, Clone)]
pub struct Picture {
    image: DynamicImage,
}

impl Picture {
    /// Decodes a PNG, JPEG or GIF file and turns it as its EXIF orientation says.
    ///
    /// # Errors
    /// When it is none of these, is broken or ends early, or has more than [`MOST_PIXELS`].
    pub fn decode(bytes: &[u8]) -> Result<Self, TraceError> {
        let reader = ImageReader::new(Cursor::new(bytes))
            .with_guessed_format()
            .map_err(|error| TraceError::Broken { reason: error.to_string() })?;
        let format = reader.format().ok_or(TraceError::NoPicture)?;
        if !matches!(format, ImageFormat::Png | ImageFormat::Jpeg | ImageFormat::Gif) {
            return Err(TraceError::NoPicture);
        }
        let broken = |error: image::ImageError| match error {
            image::ImageError::Limits(_) => TraceError::TooMuchMemory,
            other => TraceError::Broken { reason: other.to_string() },
        };
        // The decoder fills what is missing with grey and says nothing.
        if format == ImageFormat::Jpeg && !jpeg_end::is_complete(bytes) {
            return Err(TraceError::EndsEarly);
        }
        let mut decoder = reader.into_decoder().map_err(broken)?;
        let (width, height) = decoder.dimensions();
        check_size(width, height)?;
        let mut limits = Limits::default();
        limits.max_alloc = Some(MOST_BYTES);
        decoder.set_limits(limits).map_err(broken)?;
        // A picture whose orientation cannot be read is still a picture.
        let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
        let mut image = DynamicImage::from_decoder(decoder).map_err(broken)?;
        image.apply_orientation(orientation);
        Ok(Self { image })
    }

    /// The picture of an image that is already decoded.
    ///
    /// # Errors
    /// When it has no pixels, or more than [`MOST_PIXELS`].
    pub fn from_image(image: DynamicImage) -> Result<Self, TraceError> {
        check_size(image.width(), image.height())?;
        Ok(Self { image })
    }

    /// The pixels.
    pub fn image(&self) -> &DynamicImage {
        &self.image
    }

    /// Width and height in pixels.
    pub fn size(&self) -> DVec2 {
        DVec2::new(self.image.width().into(), self.image.height().into())
    }
}

fn check_size(width: u32, height: u32) -> Result<(), TraceError> {
    match u64::from(width) * u64::from(height) {
        0 => Err(TraceError::NoPixels { width, height }),
        count if count > MOST_PIXELS => Err(TraceError::TooManyPixels { width, height }),
        _ => Ok(()),
    }
}
