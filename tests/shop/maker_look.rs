//! The maker's colours and logo: read as they are drawn, told at their place where they cannot be, on all that a client gets.

use std::{process::Command, sync::Arc};

use cakefile::{CakeFile, world::Memory};
use formats::{colour::contrast, model::Rgb};
use image::{ImageFormat, Rgba, RgbaImage};
use plan::{Plan, Source, pantry::Pantry};
use shop::maker_look::{LOGO_ROOM, LogoError, MakerLook, logo};

use crate::orders_text::CAKE;

const DRAWING: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" width=\"120\" height=\"60\" viewBox=\"0 0 120 60\">\
    <defs><linearGradient id=\"g\" x1=\"0\" x2=\"1\"><stop offset=\"0\" stop-color=\"#c8342c\"/><stop offset=\"1\" stop-color=\"#2c58c8\" stop-opacity=\".6\"/></linearGradient>\
    <radialGradient id=\"r\" cx=\".4\" cy=\".4\" r=\".6\"><stop offset=\"0\" stop-color=\"#fff\"/><stop offset=\"1\" stop-color=\"#207040\"/></radialGradient>\
    <clipPath id=\"c\"><circle cx=\"95\" cy=\"30\" r=\"20\"/></clipPath><path id=\"leaf\" d=\"M0 0q12 4 12 16Q0 12 0 0z\"/></defs>\
    <rect x=\"4\" y=\"4\" width=\"50\" height=\"52\" rx=\"8\" fill=\"url(#g)\"/>\
    <g transform=\"translate(60 20) rotate(20)\" opacity=\".5\"><use xlink:href=\"#leaf\" fill=\"#207040\"/><use xlink:href=\"#leaf\" x=\"6\" fill=\"#702060\"/></g>\
    <circle cx=\"29\" cy=\"30\" r=\"16\" fill=\"url(#r)\" stroke=\"#111\" stroke-width=\"3\" stroke-dasharray=\"9 4\" stroke-linecap=\"round\"/>\
    <g clip-path=\"url(#c)\"><path d=\"M75 10h40v40h-40z\" fill=\"#d8a93a\"/><path d=\"M75 30h40v20h-40z\" fill=\"#333\" fill-opacity=\".7\"/></g>\
    <path d=\"M80 4h30v8h-30zM84 6h20v4h-20z\" fill=\"#804020\" fill-rule=\"evenodd\"/></svg>";

fn png(image: &RgbaImage) -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    image.write_to(&mut bytes, ImageFormat::Png).unwrap();
    bytes.into_inner()
}

/// Against librsvg (`rsvg-convert`), which draws on its own: fills, gradients, strokes with dashes, opacity, clip paths,
/// transforms and copies. Soft edges may differ, so it is the mean that has to agree, and all but few pixels.
#[test]
fn a_drawing_looks_as_another_program_draws_it() {
    let folder = tempfile::tempdir().unwrap();
    let (from, to) = (folder.path().join("logo.svg"), folder.path().join("logo.png"));
    std::fs::write(&from, DRAWING).unwrap();
    let asked = Command::new("rsvg-convert")
        .args(["--width", "1200", "--keep-aspect-ratio", "-o"])
        .arg(&to)
        .arg(&from)
        .status();
    if !asked.is_ok_and(|status| status.success()) {
        let required = std::env::var("CRUMBLINE_REQUIRE_REFERENCE").is_ok_and(|value| value == "1");
        assert!(!required, "no rsvg-convert: install librsvg2-bin");
        println!("skipped: no rsvg-convert");
        return;
    }
    let theirs = logo(&std::fs::read(&to).unwrap()).unwrap();
    let ours = logo(DRAWING.as_bytes()).unwrap();
    assert!(ours.width().abs_diff(theirs.width()) <= 2 && ours.height().abs_diff(theirs.height()) <= 2);
    let (mut sum, mut off, mut count) = (0.0, 0, 0);
    for (x, y, pixel) in
        ours.enumerate_pixels().filter(|(x, y, _)| *x < theirs.width() && *y < theirs.height())
    {
        // As seen on white.
        let on_white =
            |p: &Rgba<u8>| [0, 1, 2].map(|i| 255.0 + (f64::from(p.0[i]) - 255.0) * f64::from(p.0[3]) / 255.0);
        let (a, b) = (on_white(pixel), on_white(theirs.get_pixel(x, y)));
        let most = (0..3).map(|i| (a[i] - b[i]).abs()).fold(0.0, f64::max);
        sum += most;
        off += u32::from(most > 24.0);
        count += 1;
    }
    let (mean, share) = (sum / f64::from(count), f64::from(off) / f64::from(count));
    assert!(mean < 2.0 && share < 0.01, "mean {mean}, {share} of the pixels");
}

#[test]
fn pictures_keep_their_colours_and_lose_their_margin() {
    // A disc on nothing, off the middle and larger than there is room for.
    let round = RgbaImage::from_fn(2000, 1500, |x, y| {
        let inside = (f64::from(x) - 800.0).hypot(f64::from(y) - 700.0) < 650.0;
        if inside { Rgba([200, 40, 90, 255]) } else { Rgba([0, 255, 0, 0]) }
    });
    let made = logo(&png(&round)).unwrap();
    assert!(made.width() <= LOGO_ROOM.0 && made.height() <= LOGO_ROOM.1);
    assert!(made.width().abs_diff(made.height()) <= 1, "{:?}", made.dimensions());
    // What is under see-through pixels colours no edge: green lies there.
    for pixel in made.pixels().filter(|pixel| pixel.0[3] > 40) {
        assert!(pixel.0[0] > 190 && pixel.0[1] < 60, "{pixel:?}");
    }
    let flat = image::RgbImage::from_pixel(30, 20, image::Rgb([10, 120, 200]));
    let mut jpeg = std::io::Cursor::new(Vec::new());
    flat.write_to(&mut jpeg, ImageFormat::Jpeg).unwrap();
    let made = logo(&jpeg.into_inner()).unwrap();
    assert_eq!(made.dimensions(), (30, 20));
    assert!(made.pixels().all(|p| p.0[0] < 16 && p.0[1].abs_diff(120) < 4 && p.0[3] == 255));
}

#[test]
fn what_is_no_logo_is_refused_with_a_fix() {
    let with = |inner: &str| {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 9 9\">{inner}<path d=\"M0 0h9v9z\"/></svg>"
        )
    };
    let bomb = format!(
        "<!DOCTYPE svg [<!ENTITY a \"{}\">{}]><svg xmlns=\"http://www.w3.org/2000/svg\">&i;</svg>",
        "x".repeat(999),
        "bcdefghi"
            .chars()
            .zip("abcdefgh".chars())
            .map(|(n, o)| format!("<!ENTITY {n} \"{}\">", format!("&{o};").repeat(20)))
            .collect::<String>()
    );
    let mut cut_short = png(&RgbaImage::from_pixel(40, 40, Rgba([1, 2, 3, 255])));
    cut_short.truncate(60);
    let mut wide = png(&RgbaImage::from_pixel(4, 4, Rgba([1, 2, 3, 255])));
    // 2^31 - 1 pixels wide, in the header of the PNG.
    wide[16..20].copy_from_slice(&0x7fff_ffff_u32.to_be_bytes());
    for (bytes, told) in [
        (b"GIF89a".to_vec(), "no PNG, JPEG or SVG"),
        (b"hello".to_vec(), "no PNG, JPEG or SVG"),
        (Vec::new(), "no PNG, JPEG or SVG"),
        (cut_short, ""),
        (wide, ""),
        (b"<svg".to_vec(), ""),
        (b"<html></html>".to_vec(), "<html>"),
        (bomb.into_bytes(), ""),
        (with("<text>Bakery</text>").into_bytes(), "<text>"),
        (with("<image href=\"a.png\" width=\"9\" height=\"9\"/>").into_bytes(), "<image>"),
        (
            with("<defs><mask id=\"m\"><path d=\"M0 0h5v5z\" fill=\"#fff\"/></mask></defs><g mask=\"url(#m)\"><path d=\"M0 0h5v5z\"/></g>")
                .into_bytes(),
            "a mask",
        ),
        (
            with("<defs><filter id=\"f\"><feGaussianBlur stdDeviation=\"1\"/></filter></defs><g filter=\"url(#f)\"><path d=\"M0 0h5v5z\"/></g>")
                .into_bytes(),
            "a filter",
        ),
        (with("").replace("M0 0h9v9z", "M0 0z").into_bytes(), "nothing is to be seen"),
        (png(&RgbaImage::new(20, 20)), "nothing is to be seen"),
    ] {
        let error: LogoError = logo(&bytes).unwrap_err();
        assert!(error.to_string().contains(told), "{error} for {told}");
        assert!(!error.fix().is_empty());
    }
}

/// A cake whose pantry part says this of the maker, in a folder with these files; the pantry file in another folder says that.
fn source(in_cake: &str, in_pantry: &str, files: &[(&str, Vec<u8>)]) -> Source {
    let world = files.iter().fold(Memory::new(), |world, (path, bytes)| world.with(*path, bytes.clone()));
    let cake = CakeFile::from_text("cakes/test.cake.toml", "cakes", format!("{CAKE}{in_cake}"));
    let pantry =
        CakeFile::from_text("mine/pantry.toml", "mine", format!("crumbline = 2\n[pantry]\n{in_pantry}"));
    let pantry = Pantry::usual().with_file(&pantry).unwrap_or_else(|error| panic!("{}", error.render(false)));
    Source::new(cake, Arc::new(world)).with_pantry(pantry)
}

fn look(source: &Source) -> Result<MakerLook, String> {
    let plan = Plan::new(source).map_err(|error| error.to_string())?;
    MakerLook::of(source, &plan.pantry.maker).map_err(|error| error.render(false))
}

#[test]
fn the_logo_lies_beside_the_file_that_names_it() {
    let red = png(&RgbaImage::from_pixel(8, 4, Rgba([200, 0, 0, 255])));
    let blue = png(&RgbaImage::from_pixel(5, 5, Rgba([0, 0, 200, 255])));
    let files = [("mine/logo.png", red), ("cakes/logo.png", blue), ("cakes/logo.svg", DRAWING.into())];
    let maker = |what: &str| format!("[pantry.maker]\n{what}\n");
    let named = maker("logo = \"logo.png\"\naccent = \"#123456\"");
    let size = |in_cake: &str, in_pantry: &str| {
        look(&source(in_cake, in_pantry, &files)).unwrap().logo.map(|logo| logo.dimensions())
    };
    assert_eq!(size("", &named), Some((8, 4)));
    assert_eq!(size(&named, ""), Some((5, 5)));
    assert_eq!(size(&named, &named), Some((5, 5)), "the cake file's own comes before");
    assert_eq!(size(&maker("name = \"x\""), &named), Some((8, 4)), "what it does not say is the pantry's");
    assert_eq!(size("", ""), None);
    let both = look(&source(&maker("ground = \"#101010\""), &named, &files)).unwrap();
    assert_eq!((both.accent, both.ground), (Rgb(0x12, 0x34, 0x56), Rgb(16, 16, 16)));
    assert!(
        both.remark().unwrap().contains("#123456") && contrast(both.accent_letters(), both.ground) >= 4.5
    );

    // What is wrong is told with the file, the line and the fix.
    for (in_cake, in_pantry, parts) in [
        (
            maker("logo = \"gone.png\""),
            String::new(),
            ["cakes/test.cake.toml", "gone.png", "folder of the file"],
        ),
        (
            String::new(),
            maker("name = \"x\"\nlogo = \"gone.svg\""),
            ["mine/pantry.toml:5", "gone.svg", "folder of the file"],
        ),
        (
            String::new(),
            maker("logo = \"../cakes/logo.png\""),
            ["mine/pantry.toml:4", "../cakes/logo.png", "folder of the file"],
        ),
    ] {
        let told = look(&source(&in_cake, &in_pantry, &files)).unwrap_err();
        for part in parts {
            assert!(told.contains(part), "{part} in {told}");
        }
    }
    let wrong = look(&source(&maker("accent = \"plum\""), "", &files)).unwrap_err();
    assert!(wrong.contains("plum"), "{wrong}");
}
