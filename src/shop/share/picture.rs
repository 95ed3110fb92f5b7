//! Pictures of the cake on the page, small enough for a letter.

use image::{DynamicImage, codecs::jpeg::JpegEncoder, imageops::FilterType};

use make::language::ShareWords;

/// Width and height of a picture on the page at most, pixels.
const MOST: u32 = 560;

/// Bytes of a picture on the page at most.
const MOST_BYTES: usize = 22_000;

/// Qualities of JPEG, one after the other until the picture is small enough.
const QUALITIES: [u8; 5] = [82, 74, 64, 52, 40];

/// What a picture that the program draws shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sight {
    /// The finished cake from the front and a little above.
    Front,
    /// From the right side.
    Side,
    /// From the back.
    Back,
    /// The carved cake under its coats.
    Carved,
}

impl Sight {
    /// Every one, in the order of the page.
    pub const ALL: [Self; 4] = [Self::Front, Self::Side, Self::Back, Self::Carved];

    /// The end of its file's name.
    pub fn file_name(self) -> &'static str {
        match self {
            Self::Front => "front",
            Self::Side => "side",
            Self::Back => "back",
            Self::Carved => "carved",
        }
    }

    /// What it is called in the words of a language.
    pub fn told(self, words: &ShareWords) -> &str {
        match self {
            Self::Front => &words.sight_front,
            Self::Side => &words.sight_side,
            Self::Back => &words.sight_back,
            Self::Carved => &words.carved,
        }
    }
}

/// A picture for the page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// What it shows, in the client's language.
    pub name: String,
    /// Width and height, pixels.
    pub size: (u32, u32),
    /// The picture as JPEG.
    pub jpeg: Vec<u8>,
}

/// A picture that cannot be put on the page.
#[derive(Debug, thiserror::Error)]
#[error("the picture \"{name}\" cannot be put on the page")]
pub struct PictureError {
    /// What it shows.
    pub name: String,
    /// Why.
    pub source: image::ImageError,
}

impl Picture {
    /// `image`, which shows `name`, made small.
    ///
    /// # Errors
    /// An image without pixels.
    pub fn new(name: &str, image: DynamicImage) -> Result<Self, PictureError> {
        let failed = |source| PictureError { name: name.to_owned(), source };
        let small = if image.width().max(image.height()) > MOST {
            image.resize(MOST, MOST, FilterType::CatmullRom)
        } else {
            image
        };
        let small = DynamicImage::ImageRgb8(small.into_rgb8());
        let mut jpeg = Vec::new();
        for quality in QUALITIES {
            jpeg.clear();
            small.write_with_encoder(JpegEncoder::new_with_quality(&mut jpeg, quality)).map_err(failed)?;
            if jpeg.len() <= MOST_BYTES {
                break;
            }
        }
        Ok(Self { name: name.to_owned(), size: (small.width(), small.height()), jpeg })
    }
}
