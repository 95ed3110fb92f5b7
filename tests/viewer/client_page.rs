//! The client's page beside a picture of the same cake: the same places have the same colours; and the picture sheet, measured.

use std::{fs, path::PathBuf, sync::Arc};

use cakefile::{CakeFile, world::Memory};
use geom::progress::NoProgress;
use glam::DVec3;
use image::RgbaImage;
use jiff::civil::date;
use make::{language::Language, solids};
use plan::{Plan, Source, extent::standing};
use shop::{
    amounts::Amounts,
    maker_look::MakerLook,
    order_check::OrderCheck,
    quote::Quote,
    share::{self, MESH_BUDGET, Meshes, Page, Parts},
};
use studio::{OffcutView, PictureOptions, Showing, Stage, Studio, View};

use crate::reference::{asked, python};

/// A cake with a face at the front and at the side, a band of its own colour that is dusted, and a ball painted like metal.
const CAKE: &str = "crumbline = 2\nname = \"Corner\"\n[shape.crossed]\nfront = { points = [[-70, 0], [70, 0], [70, 110], [-70, 110]] }\n\
    side = { points = [[-70, 0], [70, 0], [70, 110], [-70, 110]] }\n[board]\nround = 260\nthickness = 12\n\
    [[covering]]\nmaterial = \"rolled icing\"\nthickness = 3\ncolour = \"#3a7ab8\"\n[[covering.zone]]\nname = \"band\"\nbetween = [0, 40]\n\
    colour = \"#c8a03a\"\nfinish = [{ kind = \"dust\", colour = \"#402010\", fade = [0, 40] }]\n[[detail]]\nname = \"ball\"\nadd = \"icing\"\ncolour = \"#b83a5a\"\nball = { centre = [0, 0, 118], diameter = 50 }\n\
    finish = [{ kind = \"lustre\", colour = \"#c9a227\", coats = 1 }]\n[[tier]]\nname = \"one\"\nlayer = [{ pan = { square = 200 }, height = 110 }]\n";

/// Chromium, if it is there.
fn chromium() -> Option<PathBuf> {
    let path = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&path).map(|folder| folder.join("chromium")).find(|program| program.exists())
}

fn source() -> Source {
    Source::new(CakeFile::from_text("corner.cake.toml", "", CAKE), Arc::new(Memory::new()))
}

/// Mean colour of 5 by 5 pixels.
fn mean(picture: &RgbaImage, at: glam::DVec2) -> [f64; 3] {
    let (left, top) = ((at.x - 2.5).round() as u32, (at.y - 2.5).round() as u32);
    let pixels = || (0..5).flat_map(move |x| (0..5).map(move |y| picture.get_pixel(left + x, top + y)));
    [0, 1, 2].map(|k| pixels().map(|pixel| f64::from(pixel.0[k])).sum::<f64>() / 25.0)
}

/// The page draws with the window's light but for what it works out by rays (how much sky each place sees, what the ground
/// throws back), and antialiases otherwise: a colour may differ by so much of 255.
const ALLOWED: f64 = 28.0;

#[test]
fn the_page_has_the_colours_of_the_picture() {
    let (Some(python), Some(chromium)) = (python(), chromium()) else {
        println!("skipped: no chromium");
        return;
    };
    let source = source();
    let plan = Plan::new(&source).unwrap();
    let amounts = Amounts::new(&plan);
    let quote = Quote::new(&plan, &amounts, 0.0).unwrap();
    let check = OrderCheck::new(&plan, &amounts, Ok(&quote), date(2026, 11, 20).at(8, 0, 0, 0));
    let language = Language::english();
    let parts = Parts::new(&plan, language).unwrap();
    let meshes = Meshes::new(&parts, MESH_BUDGET, &NoProgress);
    let html = share::page(&Page {
        plan: &plan,
        quote: &quote,
        check: &check,
        parts: &parts,
        meshes: &meshes,
        pictures: &[],
        mark: "x",
        files: &["a.glb".to_owned(), "a.usdz".to_owned()],
        before: None,
        prices: &[],
        look: &MakerLook::default(),
        language,
    });
    let folder = tempfile::tempdir().unwrap();
    let page = folder.path().join("page.html");
    fs::write(&page, html).unwrap();

    let (bearing, elevation) = (35.0, 22.0);
    // Middles of faces and of the band, and the ball towards the eye.
    let places = [
        ("front, covering", DVec3::new(0.0, -70.0, 80.0)),
        ("side, covering", DVec3::new(70.0, 0.0, 80.0)),
        ("front, band", DVec3::new(10.0, -70.0, 20.0)),
        ("side, band", DVec3::new(70.0, -10.0, 20.0)),
        ("top", DVec3::new(50.0, -50.0, 110.0)),
        ("ball", DVec3::new(0.0, 0.0, 118.0) + 25.0 * DVec3::new(0.45, -0.75, 0.48).normalize()),
    ];
    let y_up: Vec<[f64; 3]> = places.iter().map(|(_, p)| [p.x, p.z, -p.y]).collect();
    let view = format!("[{bearing}, {elevation}]");
    let places_text = serde_json::to_string(&y_up).unwrap();
    let arguments = [chromium.as_os_str(), page.as_os_str(), view.as_ref(), places_text.as_ref()];
    let on_page = asked(&python, "page_pixels.py", &arguments);

    let options = PictureOptions {
        view: View::From { bearing, elevation },
        size: (1000, 750),
        showing: Showing {
            stage: Stage::Finished,
            offcut: OffcutView::None,
            ghost: false,
            ..Showing::default()
        },
        legend: false,
        dimensions: false,
        ..PictureOptions::default()
    };
    let model = solids::model_in_stages(&plan, plan.design.preview).unwrap();
    let picture = Studio::open().unwrap().picture(&model, &options).unwrap();
    let mut worst = 0.0_f64;
    for ((what, place), pixel) in places.iter().zip(on_page.as_array().unwrap()) {
        let page: Vec<f64> = pixel.as_array().unwrap().iter().map(|n| n.as_f64().unwrap()).collect();
        assert!(page[3] > 250.0, "{what}: the page shows the cake there");
        let drawn = mean(&picture.image, picture.pose.project(*place, options.size));
        let off = (0..3).map(|k| (page[k] - drawn[k]).abs()).fold(0.0, f64::max);
        println!("{what}: page {page:.0?}, picture {drawn:.0?}, {off:.0} apart");
        worst = worst.max(off);
    }
    assert!(worst <= ALLOWED, "{worst} of 255 apart");
}

/// The picture sheet by command, measured: its plate is 270 mm across, and beside it the cake is as wide, as deep and as high as
/// its file says.
#[test]
fn the_picture_sheet_is_to_scale() {
    let folder = tempfile::tempdir().unwrap();
    let cake = folder.path().join("box.cake.toml");
    // Twice as wide as deep, in a colour that nothing else on the sheet has.
    let text = "crumbline = 2\nname = \"Box\"\n[shape.crossed]\nfront = { points = [[-120, 0], [120, 0], [120, 90], [-120, 90]] }\n\
                side = { points = [[-60, 0], [60, 0], [60, 90], [-60, 90]] }\n[[covering]]\nmaterial = \"rolled icing\"\nthickness = 3\n\
                colour = \"#d000d0\"\n[[tier]]\nname = \"one\"\nlayer = [{ pan = { square = 300 }, height = 90 }]\n[pantry.maker]\nname = \"Bakery\"\nground = \"#bedcbe\"\n";
    fs::write(&cake, text).unwrap();
    let out = folder.path().join("page");
    let mut command = assert_cmd::Command::cargo_bin("crumbline").unwrap();
    command
        .arg("share")
        .arg(&cake)
        .args(["--incomplete", "--png", "--today", "2026-11-20 08:00", "--out"])
        .arg(&out);
    let made = command.output().unwrap();
    assert!(made.status.code().is_some_and(|code| code < 2), "{}", String::from_utf8_lossy(&made.stderr));
    let png = image::open(out.join("box-picture-sheet.png")).unwrap().into_rgba8();
    let jpeg = image::open(out.join("box-picture-sheet.jpg")).unwrap().into_rgba8();
    assert_eq!(png.dimensions(), jpeg.dimensions());
    assert_eq!(png.width(), share::WIDE);

    let is_cake =
        |p: &image::Rgba<u8>| p.0[0] > 60 && p.0[2] > 60 && p.0[0].min(p.0[2]) > p.0[1].saturating_add(50);
    let is_plate = |p: &image::Rgba<u8>| p.0[..3].iter().all(|c| *c > 240);
    // Below the large picture, its band and the name are the three to scale; the cake's columns are looked for over the rows
    // of the plate.
    let below = share::PICTURE_HIGH + 400;
    let rows: Vec<u32> =
        (below..png.height()).filter(|y| (0..png.width()).any(|x| is_plate(png.get_pixel(x, *y)))).collect();
    // Letters on the band are white as well: the plate is the highest of all that is.
    let runs = rows.chunk_by(|above, below| *below == above + 1);
    let plate = runs.max_by_key(|run| run.len()).expect("a plate");
    let (top, bottom) = (plate[0], plate[plate.len() - 1]);
    let columns = |wanted: &dyn Fn(&image::Rgba<u8>) -> bool| -> Vec<u32> {
        (0..png.width()).filter(|x| (top..=bottom).any(|y| wanted(png.get_pixel(*x, y)))).collect()
    };
    let plate = columns(&is_plate);
    let scale = f64::from(plate[plate.len() - 1] - plate[0] + 1 + 6) / 270.0;
    assert!((f64::from(bottom - top + 1 + 6) / 270.0 - scale).abs() < 0.02 * scale);
    let cake = columns(&is_cake);
    let gap = cake.windows(2).position(|w| w[1] > w[0] + 20).expect("a front and a side");
    let (front, side) = cake.split_at(gap + 1);
    let high = (top.saturating_sub(400)..=bottom + 3)
        .filter(|y| front.iter().any(|x| is_cake(png.get_pixel(*x, *y))))
        .count();
    for (what, pixels, mm) in
        [("width", front.len(), 240.0), ("depth", side.len(), 120.0), ("height", high, 90.0)]
    {
        let measured = pixels as f64 / scale;
        println!("{what}: {measured:.1} mm for {mm}");
        // A pixel at either edge of either.
        assert!((measured - mm).abs() <= 3.0 / scale, "{what}: {measured} mm for {mm}");
    }
    let (low, high) = standing(
        &Plan::new(&Source::new(CakeFile::from_text("box", "", text), Arc::new(Memory::new()))).unwrap(),
    );
    assert!(((high - low).x - 240.0).abs() < 0.2, "{low} {high}");
}
