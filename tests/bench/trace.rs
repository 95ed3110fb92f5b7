//! How fast a picture of 12 megapixels is traced, decoding included, and where the time goes; and the whole command, with
//! the drawing and the overlay on disk.
//!
//! `cargo bench --no-default-features --bench trace`. Budget: a second. Reference: scikit-image decoding, finding
//! Otsu's threshold, labelling, and finding the edge between pixels (`tests/reference/picture_times.py`); it fits
//! no curves.

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

#[allow(missing_docs)]
mod python;
#[allow(missing_docs)]
mod row;

use std::{fs, hint::black_box, io::Cursor, process::Command, time::Duration};

use crumbline::trace::{Options, Picture, Scale, trace};
use image::{DynamicImage, GrayImage, ImageFormat, Luma};
use row::{head, medians, row};

fn main() {
    let image = DynamicImage::from(photograph()).to_rgb8();
    let folder = tempfile::tempdir().expect("a folder for the files");
    for (name, format) in [("photograph.jpg", ImageFormat::Jpeg), ("photograph.png", ImageFormat::Png)] {
        let mut bytes = Cursor::new(Vec::new());
        image.write_to(&mut bytes, format).expect("written");
        let bytes = bytes.into_inner();
        let file = folder.path().join(name);
        fs::write(&file, &bytes).expect("written");
        let options = Options::new(Scale::Height(300.0));
        let picture = Picture::decode(&bytes).expect("a picture");
        let found = trace(&picture, &options).expect("an outline");
        let fitted = found.outline();
        println!(
            "{name}: {} MB, an edge of {} points, {} curves within {:.3} mm ({:.3} mm a pixel)",
            bytes.len() / 1_000_000,
            found.edges().iter().map(Vec::len).sum::<usize>(),
            fitted.path.segments().count(),
            fitted.error,
            found.pixel,
        );
        head();
        let [decoding, edges, curves] = medians([
            &mut || drop(black_box(Picture::decode(&bytes).expect("a picture"))),
            &mut || drop(black_box(trace(&picture, &options).expect("an outline"))),
            &mut || drop(black_box(found.outline())),
        ]);
        let all = decoding + edges + curves;
        row("all of it vs a second", all, Duration::from_secs(1), Some(1.0));
        row("of which decoding", decoding, Duration::from_secs(1), None);
        row("of which threshold, regions and edges", edges, Duration::from_secs(1), None);
        row("of which curves", curves, Duration::from_secs(1), None);
        let drawing = folder.path().join("drawing.svg");
        let [command] = medians([&mut || {
            let run = Command::new(env!("CARGO_BIN_EXE_crumbline"))
                .args(["trace".as_ref(), file.as_os_str(), drawing.as_os_str()])
                .args(["--height", "300"])
                .output();
            assert!(run.is_ok_and(|output| output.status.success()));
        }]);
        row(
            "the command, from its start to its files, vs a second",
            command,
            Duration::from_secs(1),
            Some(1.0),
        );
        let Some(times) = python::times("picture_times.py", &[&file]) else { return };
        row("all of it vs scikit-image without curves", all, times.iter().sum(), None);
        row("decoding vs scikit-image", decoding, times[0], None);
        row("threshold, regions and edges vs scikit-image", edges, times[1..].iter().sum(), None);
    }
}

/// A photograph of a drawing: a lobed shape, uneven light, grain and spots; 4000 × 3000 pixels.
fn photograph() -> GrayImage {
    let mut state = 7_u32;
    GrayImage::from_fn(4000, 3000, |x, y| {
        // Numerical Recipes' linear congruential generator.
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let grain = f64::from(state >> 24) / 255.0 * 16.0 - 8.0;
        let (x, y) = (f64::from(x), f64::from(y));
        let (across, up) = (x - 2000.0, 1500.0 - y);
        let lobes = 1050.0 + 160.0 * (7.0 * up.atan2(across)).sin();
        let inside = (lobes - across.hypot(up)).max(9.0 - (x % 701.0 - 350.0).hypot(y % 577.0 - 288.0));
        let paper = 225.0 - x / 100.0 - y / 100.0;
        let share = (inside / 2.0 + 0.5).clamp(0.0, 1.0);
        Luma([(paper + (60.0 - paper) * share + grain).clamp(0.0, 255.0) as u8])
    })
}
