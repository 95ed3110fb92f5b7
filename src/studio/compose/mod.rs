//! Title, legend and dimensions, drawn over a picture on the processor.
//!
//! Text is measured and placed in shares of the picture's height, so that a picture twice the size
//! looks the same, only sharper.

mod canvas;
mod carve;
mod dimensions;
mod legend;

pub use canvas::{Anchor, Canvas};
pub use carve::{CarveNotes, LayerNote, draw_carve, label_width};
pub use dimensions::{Extent, draw_dimensions};
pub use legend::{LEGEND_WIDTH, Legend, STAYS, draw_caution, draw_legend, draw_title};

use formats::model::Rgb;

/// Colour of text and lines.
pub const INK: Rgb = Rgb(43, 47, 54);
/// Colour of text that matters less.
pub const FAINT: Rgb = Rgb(98, 104, 113);
