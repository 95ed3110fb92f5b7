//! Pictures → outlines: shapes of known size drawn here pixel by pixel, and whatever is no picture at all.

mod bad;
mod card;
mod crossed;
mod fuzz;
mod homography;
mod shapes;

use geom::trace::{Options, Picture, Trace, trace};
use image::DynamicImage;

fn traced(image: DynamicImage, options: &Options) -> Trace {
    trace(&Picture::from_image(image).unwrap(), options).unwrap_or_else(|error| panic!("{error}"))
}
