//! A model too big for the graphics card is drawn lighter, and that is said.
//!
//! The card is opened with buffers smaller than the model needs: the driver itself would refuse larger ones.

use crumbline::{
    geom::TriMesh,
    model::{Model, Part, PartKind, Rgb},
    viewer::{Background, Lens, PictureOptions, Studio, View},
};

/// A ball of 80 mm out of as many rows and meridians.
fn ball(count: u32) -> TriMesh {
    use glam::DVec3;
    let place = |row: u32, around: u32| {
        let (sin, cos) = (std::f64::consts::PI * f64::from(row) / f64::from(count)).sin_cos();
        let (east, north) = (std::f64::consts::TAU * f64::from(around) / f64::from(count)).sin_cos();
        DVec3::new(80.0 * sin * north, 80.0 * sin * east, -80.0 * cos)
    };
    let rows = (1..count).flat_map(|row| (0..count).map(move |around| place(row, around)));
    let positions: Vec<DVec3> = rows.chain([DVec3::Z * -80.0, DVec3::Z * 80.0]).collect();
    let at = |row: u32, around: u32| (row - 1) * count + around % count;
    let (low, high) = ((count - 1) * count, (count - 1) * count + 1);
    let mut triangles = Vec::new();
    for around in 0..count {
        triangles.push([low, at(1, around + 1), at(1, around)]);
        triangles.push([high, at(count - 1, around), at(count - 1, around + 1)]);
        for row in 1..count - 1 {
            let [a, b] = [at(row, around), at(row, around + 1)];
            let [c, d] = [at(row + 1, around + 1), at(row + 1, around)];
            triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    TriMesh { positions, triangles }
}

#[test]
fn a_model_too_big_for_the_card_is_drawn_lighter_and_said() {
    let mesh = ball(500);
    mesh.check().unwrap();
    let before = mesh.len();
    let part = Part {
        name: "ball".into(),
        kind: PartKind::Kept,
        index: 0,
        material: "sponge".into(),
        colour: Rgb(232, 196, 128),
        tints: Vec::new(),
        shave_depth: vec![0.0; mesh.positions.len()],
        mesh,
    };
    let model = Model { name: "ball".into(), parts: vec![part], ..Model::default() };
    let options = PictureOptions {
        view: View::Front,
        lens: Lens::Orthographic,
        size: (400, 400),
        background: Background::Transparent,
        legend: false,
        dimensions: false,
        samples: 4,
        ..PictureOptions::default()
    };
    // 250 000 vertices of 32 bytes are 8 MB.
    let limit = 4 << 20;
    let picture = Studio::open_within(limit).unwrap().picture(&model, &options).unwrap();
    let said = picture.simplified;
    assert!(said.is_some() && said.before == before, "{said:?}");
    assert!(said.after as u64 * 12 <= limit && said.after > 20_000, "{said:?}");
    assert!(said.to_string().contains("graphics card"), "{said}");
    // What is drawn is still a disc of π r².
    let mm = picture.mm_per_pixel.unwrap();
    let covered: f64 = picture.image.pixels().map(|p| f64::from(p.0[3]) / 255.0).sum();
    let exact = std::f64::consts::PI * 80.0 * 80.0;
    assert!((covered * mm * mm / exact - 1.0).abs() < 0.01, "{} mm² for {exact}", covered * mm * mm);
    let whole = Studio::open().unwrap().picture(&model, &options).unwrap();
    assert!(!whole.simplified.is_some(), "{:?}", whole.simplified);
}
