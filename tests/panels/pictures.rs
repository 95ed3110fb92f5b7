//! The picture under an outline lies where the outline was traced from.

use std::{io::Cursor, path::Path, sync::Arc};

use cakefile::{CakeFile, FieldPath, world::Memory};
use geom::units::Unit;
use glam::{DVec2, dvec2};
use image::{GrayImage, ImageFormat, Luma};
use plan::{
    Source,
    outline::{TracedPicture, View},
};

/// A picture of 400 by 300 pixels with a black rectangle from (60, 40) to (180, 240).
fn picture() -> Vec<u8> {
    let inside = |x: u32, y: u32| (60..180).contains(&x) && (40..240).contains(&y);
    let image = GrayImage::from_fn(400, 300, |x, y| Luma([if inside(x, y) { 20 } else { 240 }]));
    let mut bytes = Cursor::new(Vec::new());
    image.write_to(&mut bytes, ImageFormat::Png).unwrap();
    bytes.into_inner()
}

fn source(shape: &str) -> Source {
    let text = format!("crumbline = 2\nname = \"Block\"\n{shape}");
    let world = Memory::new().with(Path::new("here/block.png"), picture());
    Source::new(CakeFile::from_text("here/cake", "here", text), Arc::new(world))
}

/// The rectangle is 200 pixels high and 100 mm: a pixel is half a millimetre, and its corners stand at ±30 mm.
#[test]
fn corners_of_the_outline_are_corners_in_the_picture() {
    let picture = "picture = { file = \"block.png\", height = 100 }\n";
    let crossed = source(&format!("[shape.crossed.front]\n{picture}[shape.crossed.side]\n{picture}"));
    let turned = source(&format!("[shape.turned]\n{picture}"));
    for (source, view) in [(crossed, Some(View::Upright)), (turned, None)] {
        let cake = source.cake.parse().document.unwrap();
        let outline = match view {
            Some(_) => cake.shape.crossed.as_ref().unwrap().front.clone(),
            None => cake.shape.turned.clone().unwrap(),
        };
        let traced = TracedPicture::of(
            outline.picture.as_ref().unwrap(),
            view,
            Unit::Millimetre,
            &FieldPath::root(),
            &source.files(),
        )
        .unwrap();
        for (mm, pixel) in [
            (dvec2(-30.0, 0.0), dvec2(60.0, 240.0)),
            (dvec2(30.0, 0.0), dvec2(180.0, 240.0)),
            (dvec2(30.0, 100.0), dvec2(180.0, 40.0)),
            (dvec2(0.0, 50.0), dvec2(120.0, 140.0)),
        ] {
            let found: DVec2 = traced.pixel_of(mm);
            assert!(found.distance(pixel) < 1.0, "{view:?}: {mm} lies at {found}, not at {pixel}");
        }
    }
}
