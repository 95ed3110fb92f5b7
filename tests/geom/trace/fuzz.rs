//! Real pictures with bytes changed, taken out and put in.

use std::io::Cursor;

use geom::trace::{Half, Options, Picture, Scale, trace};
use image::ImageFormat;

use crate::{
    changes::fuzz,
    pictures::{drawn, png},
};

/// Whatever can still be read as a picture is traced in both ways. Whether it can be traced.
fn read_picture(bytes: &[u8]) -> bool {
    let Ok(picture) = Picture::decode(bytes) else { return false };
    let options = Options::new(Scale::Height(100.0));
    let Ok(found) = trace(&picture, &options) else { return false };
    let fitted = found.outline();
    assert!(fitted.error <= found.allowed && fitted.path.is_finite());
    if let Ok(halves) = found.half_outline(Half::Both) {
        assert!(halves.profile.error <= found.allowed && halves.profile.path.is_finite());
    }
    true
}

#[test]
fn changed_pictures_do_no_harm() {
    let image = drawn(64, 80, |x, y| {
        let ring = 24.0 - (x - 30.0).hypot(y - 34.0);
        ring.min((x - 30.0).hypot(y - 34.0) - 9.0).max((y - 50.0).min(72.0 - y).min(x - 8.0).min(40.0 - x))
    });
    let as_format = |image: image::DynamicImage, format| {
        let mut bytes = Cursor::new(Vec::new());
        image.write_to(&mut bytes, format).unwrap();
        bytes.into_inner()
    };
    let seeds = [
        png(&image),
        png(&image.to_luma16().into()),
        png(&image.to_rgba8().into()),
        as_format(image.clone(), ImageFormat::Jpeg),
        as_format(image.to_rgb8().into(), ImageFormat::Jpeg),
        as_format(image.to_rgba8().into(), ImageFormat::Gif),
    ];
    fuzz(&seeds, read_picture);
}
