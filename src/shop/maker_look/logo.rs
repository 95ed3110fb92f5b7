//! The maker's logo: a PNG, a JPEG or an SVG drawing → pixels.

use image::{ImageFormat, Rgba32FImage, RgbaImage, imageops::FilterType};

use super::vector::{NotDrawn, rasterised};
use geom::trace::{Picture, TraceError};
use plan::outline::svg::{SvgError, read_coloured};

/// Width and height of a logo at most, pixels; a larger one is made smaller.
pub const LOGO_ROOM: (u32, u32) = (1200, 600);

/// Why a logo cannot be shown.
#[derive(Debug, thiserror::Error)]
pub enum LogoError {
    /// It cannot be read.
    #[error("it cannot be read: {0}")]
    Unreadable(#[from] std::io::Error),
    /// It is something else.
    #[error("it is no PNG, JPEG or SVG")]
    OtherKind,
    /// The picture is broken, or too large.
    #[error("{0}")]
    Picture(#[from] TraceError),
    /// The drawing is broken, or too large.
    #[error("{0}")]
    Drawing(#[from] SvgError),
    /// The drawing holds what this program does not draw.
    #[error("there is {0} in the drawing, which this program does not draw")]
    NotDrawn(String),
    /// Nothing would be seen of it.
    #[error("nothing is to be seen in it")]
    Empty,
}

impl LogoError {
    /// How to fix it.
    pub fn fix(&self) -> &'static str {
        match self {
            Self::Unreadable(_) => {
                "put the logo into the folder of the file that names it, and write its name without a folder"
            }
            Self::OtherKind | Self::Picture(_) => "save the logo as PNG, and name that file",
            Self::Drawing(_) | Self::NotDrawn(_) => {
                "in the drawing program turn letters and effects into paths, or export the logo as PNG and name that file"
            }
            Self::Empty => "name another file, or leave logo out",
        }
    }
}

impl From<NotDrawn> for LogoError {
    fn from(NotDrawn(what): NotDrawn) -> Self {
        Self::NotDrawn(what.to_owned())
    }
}

/// The pixels of a logo, straight and see-through where nothing is, without the empty margin round it and no larger than
/// [`LOGO_ROOM`].
///
/// # Errors
/// What is no PNG, JPEG or SVG, what is broken, too large or empty, and drawings with what is not drawn.
pub fn logo(bytes: &[u8]) -> Result<RgbaImage, LogoError> {
    let image = match image::guess_format(bytes) {
        Ok(ImageFormat::Png | ImageFormat::Jpeg) => Picture::decode(bytes)?.image().to_rgba8(),
        Ok(_) => return Err(LogoError::OtherKind),
        Err(_) if !looks_like_xml(bytes) => return Err(LogoError::OtherKind),
        Err(_) => {
            let drawing = read_coloured(bytes)?;
            match drawing.left_out.first() {
                Some(what) => return Err(LogoError::NotDrawn(format!("<{what}>"))),
                None => rasterised(&drawing.tree, LOGO_ROOM)?,
            }
        }
    };
    let seen = trimmed(&image).ok_or(LogoError::Empty)?;
    Ok(within(seen, LOGO_ROOM))
}

/// Whether the first letter is that of XML.
fn looks_like_xml(bytes: &[u8]) -> bool {
    let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    text.iter().find(|byte| !byte.is_ascii_whitespace()) == Some(&b'<')
}

/// What is not see-through; `None` where nothing is.
fn trimmed(image: &RgbaImage) -> Option<RgbaImage> {
    /// Of 255: less is not seen.
    const SEEN: u8 = 8;
    let seen = image.enumerate_pixels().filter(|(.., pixel)| pixel.0[3] >= SEEN);
    let (low, high) = seen.fold(None, |bounds: Option<([u32; 2], [u32; 2])>, (x, y, _)| {
        let (low, high) = bounds.unwrap_or(([x, y], [x, y]));
        Some(([low[0].min(x), low[1].min(y)], [high[0].max(x), high[1].max(y)]))
    })?;
    let size = [high[0] - low[0] + 1, high[1] - low[1] + 1];
    Some(image::imageops::crop_imm(image, low[0], low[1], size[0], size[1]).to_image())
}

/// `image`, made smaller where it is larger than this.
pub fn within(image: RgbaImage, (wide, high): (u32, u32)) -> RgbaImage {
    let share =
        f64::min(f64::from(wide) / f64::from(image.width()), f64::from(high) / f64::from(image.height()));
    if share >= 1.0 {
        return image;
    }
    let [wide, high] =
        [image.width(), image.height()].map(|n| (f64::from(n) * share).round().max(1.0) as u32);
    // Averaged by how much is seen of each pixel, so that what lies under see-through ones leaves no rim.
    let mut weighted: Rgba32FImage = image::DynamicImage::ImageRgba8(image).into_rgba32f();
    for pixel in weighted.pixels_mut() {
        let opacity = pixel.0[3];
        pixel.0[..3].iter_mut().for_each(|colour| *colour *= opacity);
    }
    let mut small = image::imageops::resize(&weighted, wide, high, FilterType::CatmullRom);
    for pixel in small.pixels_mut() {
        let opacity = pixel.0[3].clamp(0.0, 1.0);
        let by = if opacity > 0.0 { 1.0 / opacity } else { 0.0 };
        pixel.0[..3].iter_mut().for_each(|colour| *colour = (*colour * by).clamp(0.0, 1.0));
        pixel.0[3] = opacity;
    }
    image::DynamicImage::ImageRgba32F(small).into_rgba8()
}
