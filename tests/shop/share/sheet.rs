//! The picture sheet: what is drawn to scale is, what the client must know is on it, and any name fits.

use glam::DVec2;
use image::{Rgba, RgbaImage};
use make::language::Language;
use plan::extent::standing;
use shop::{
    maker_look::MakerLook,
    share::{Elevation, PICTURE_HIGH, PictureSheet, SMALLEST, SheetViews, WIDE, lacking_on},
};

use super::pages::{Made, small};

const FRONT: Rgba<u8> = Rgba([255, 0, 255, 255]);
const SIDE: Rgba<u8> = Rgba([0, 255, 255, 255]);

/// A picture of a box of this size (mm) in one colour, a pixel of it so long.
fn boxed(size: DVec2, mm_per_pixel: f64, colour: Rgba<u8>) -> Elevation {
    let corner = DVec2::new(83.0, 41.0);
    let far = (corner + size / mm_per_pixel).round();
    let image = RgbaImage::from_fn(far.x as u32 + 60, far.y as u32 + 37, |x, y| {
        let at = DVec2::new(x.into(), y.into());
        if at.cmpge(corner).all() && at.cmplt(far).all() { colour } else { Rgba([0, 0, 0, 0]) }
    });
    Elevation { image, mm_per_pixel, corner }
}

/// The sheet of a cake whose sides are boxes as large as it is.
fn sheet(made: &Made, look: &MakerLook, language: &Language) -> RgbaImage {
    let (low, high) = standing(&made.plan);
    let size = high - low;
    let views = SheetViews {
        round: RgbaImage::from_pixel(WIDE, PICTURE_HIGH, Rgba([90, 60, 40, 255])),
        front: boxed(DVec2::new(size.x, size.z), 0.37, FRONT),
        side: boxed(DVec2::new(size.y, size.z), 0.53, SIDE),
    };
    let sheet = PictureSheet {
        plan: &made.plan,
        quote: &made.quote,
        check: &made.check,
        views: &views,
        mark: "3f9a2c41b7",
        look,
        language,
    };
    let drawn = sheet.drawn();
    assert_eq!(drawn.width(), 1440);
    assert!(drawn.height() > drawn.width(), "{}", drawn.height());
    drawn
}

/// First and last column and row of the pixels that are `wanted`, in these rows.
fn found(
    sheet: &RgbaImage,
    rows: std::ops::Range<u32>,
    wanted: impl Fn(&Rgba<u8>) -> bool,
) -> ([u32; 2], [u32; 2]) {
    let pixels = sheet.enumerate_pixels().filter(|(_, y, pixel)| rows.contains(y) && wanted(pixel));
    pixels.fold(([u32::MAX; 2], [0; 2]), |(low, high), (x, y, _)| {
        ([low[0].min(x), low[1].min(y)], [high[0].max(x), high[1].max(y)])
    })
}

fn near(pixel: &Rgba<u8>, colour: Rgba<u8>) -> bool {
    pixel.0.iter().zip(colour.0).all(|(a, b)| a.abs_diff(b) < 90)
}

/// The plate is 270 mm across, or 10 1/2 in: measured in the picture it gives the scale, and by that the cake is as wide and
/// as high as its file says. A pixel at each edge may go either way.
#[test]
fn the_cake_and_the_plate_are_drawn_to_one_scale() {
    for (points, unit, plate) in [
        ("[[60, 0], [60, 40]]", "mm", 270.0),
        ("[[60, 0], [60, 40]]", "in", 266.7),
        ("[[90, 0], [90, 700]]", "mm", 270.0),
        ("[[400, 0], [300, 90]]", "mm", 270.0),
        ("[[12, 0], [12, 20]]", "mm", 270.0),
    ] {
        let made = Made::of_text(&format!(
            "crumbline = 2\nname = \"x\"\nunit = \"{unit}\"\n[shape.turned]\npoints = {}\n[[tier]]\nname = \"one\"\n[[tier.layer]]\n\
             pan = {{ round = \"6 in\" }}\nheight = \"40 mm\"\n",
            points.replace('[', "[ ").split(' ').map(in_mm).collect::<Vec<_>>().join(" ")
        ));
        // A ground that is not white, so that the plate is.
        let look = MakerLook::of_colours(None, Some(formats::model::Rgb(190, 220, 190)));
        let drawn = sheet(&made, &look, Language::english());
        let all = 0..drawn.height();
        let (front_low, front_high) = found(&drawn, all.clone(), |p| near(p, FRONT));
        let (side_low, side_high) = found(&drawn, all, |p| near(p, SIDE));
        // They stand on one level, and so does the plate.
        assert!(front_high[1].abs_diff(side_high[1]) <= 1, "{points}");
        let base = front_high[1];
        let right = side_high[0] + 1;
        let face = |p: &Rgba<u8>| p.0[..3].iter().all(|c| *c > 235);
        let beside = image::imageops::crop_imm(&drawn, right, 0, WIDE - right, drawn.height()).to_image();
        let (plate_low, plate_high) = found(&beside, base.saturating_sub(640)..base + 1, face);
        assert!(plate_low[0] > 20, "{points}: the plate stands beside the cake");
        // The line of the rim is three pixels wide and lies inside the edge.
        let across = f64::from(plate_high[0] - plate_low[0] + 1) + 6.0;
        let scale = across / plate;
        assert!((f64::from(base - plate_high[1]) - 3.0).abs() <= 1.5, "{points}");
        let (low, high) = standing(&made.plan);
        let size = high - low;
        for (what, low, high, mm) in [
            ("width", front_low[0], front_high[0], size.x),
            ("height", front_low[1], front_high[1], size.z),
            ("depth", side_low[0], side_high[0], size.y),
            ("height", side_low[1], side_high[1], size.z),
        ] {
            let pixels = f64::from(high - low + 1);
            // Two pixels, and what two pixels of the plate make of it.
            let allowed = 2.0 + 2.0 / across * pixels;
            assert!((pixels - mm * scale).abs() <= allowed, "{points} {what}: {pixels} for {}", mm * scale);
        }
        // Nothing is cut off at the edges of the sheet.
        assert!(front_low[0] > 40 && right + plate_high[0] < WIDE - 40, "{points}");
    }
}

/// A number of a list as millimetres, whatever unit the file is in.
fn in_mm(part: &str) -> String {
    let digits: String = part.chars().filter(char::is_ascii_digit).collect();
    if digits.is_empty() { part.to_owned() } else { part.replacen(&digits, &format!("\"{digits} mm\""), 1) }
}

/// Names of any length leave the sheet as wide as it is, with nothing over its edges.
#[test]
fn long_names_are_broken_or_cut_off_inside_the_sheet() {
    let names = [
        "Donaudampfschifffahrtsgesellschaftskapitänsmützenabzeichenverleihungsfeiertorte für die ganze Familie".to_owned(),
        "W".repeat(700),
        "Торт с очень длинным названием ".repeat(9),
        "کیک تولد".to_owned(),
    ];
    for name in names {
        let quoted = toml::Value::String(name.clone()).to_string();
        let made = small(
            &name,
            &format!("[pantry.maker]\nname = {quoted}\naddress = [{quoted}]\nemail = \"a@example.org\"\n"),
        );
        let look = MakerLook::default();
        let drawn = sheet(&made, &look, Language::english());
        // At the very edge there is nothing but ground, bands and the picture: each row of one colour.
        for y in 0..drawn.height() {
            for columns in [0..56_u32, WIDE - 56..WIDE] {
                let first = drawn.get_pixel(columns.start, y);
                assert!(columns.clone().all(|x| drawn.get_pixel(x, y) == first), "{name} in row {y}");
            }
        }
        assert!(drawn.height() < 4000, "{name}: {}", drawn.height());
    }
}

#[test]
fn letters_that_the_font_lacks_are_told() {
    let made = small("Mond 月 kuchen 🥮", "[pantry.maker]\nname = \"Bäckerei\"\n");
    let views = SheetViews {
        round: RgbaImage::new(WIDE, PICTURE_HIGH),
        front: boxed(DVec2::splat(9.0), 1.0, FRONT),
        side: boxed(DVec2::splat(9.0), 1.0, SIDE),
    };
    let Made { plan, quote, check, .. } = &made;
    let look = MakerLook::default();
    let language = Language::english();
    let sheet = PictureSheet { plan, quote, check, views: &views, mark: "x", look: &look, language };
    assert_eq!(lacking_on(&sheet), ['月', '🥮']);
    const { assert!(SMALLEST >= 28.0, "read on a phone") };
}

/// What is open is written across in the colour of a caution, in every language; once it is closed it is gone.
#[test]
fn an_open_order_is_incomplete_on_the_sheet_too() {
    let order = "[order]\nserves = 3\n";
    for language in Language::every_shipped() {
        let look = MakerLook::default();
        let closed = sheet(&small("Drum", order), &look, &language);
        let open = sheet(&small("Drum", &order.replace('3', "300")), &look, &language);
        let caution = look.caution();
        let pixels = |sheet: &RgbaImage| {
            sheet.pixels().filter(|p| p.0[..3] == [caution.0, caution.1, caution.2]).count()
        };
        assert_eq!(pixels(&closed), 0);
        assert!(pixels(&open) > 100_000, "{}", pixels(&open));
        assert!(open.height() > closed.height());
    }
}

/// However much is hidden in it the sheet ends, and says that there is more.
#[test]
fn what_is_hidden_is_listed_as_far_as_there_is_room() {
    let hidden = |count: usize| -> String {
        (0..count)
            .map(|i| format!("[[support.hidden]]\nwhat = \"wire\"\ncount = 2\nwhere = \"in leaf {i}\"\n"))
            .collect()
    };
    let high =
        |count| sheet(&small("Drum", &hidden(count)), &MakerLook::default(), Language::english()).height();
    let [none, one, twelve, thirteen, hundred] = [0, 1, 12, 13, 100].map(high);
    assert!(none < one && one < twelve && twelve < thirteen);
    assert_eq!(thirteen, hundred);
}
