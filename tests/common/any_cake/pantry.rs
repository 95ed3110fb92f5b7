//! What a maker owns, mixes, buys and charges.

use std::collections::BTreeMap;

use cakefile::schema::{FORMAT_VERSION, Filling};
use cakefile::schema_pantry::{
    Extra, Goods, Maker, Money, Oven, OwnedBoard, OwnedDowel, OwnedPan, Pantry, PantryFile, Recipe, Region,
    Servings, Stacking, Times, Work,
};

use super::{Tape, settings};

/// A pantry file of its own.
pub fn any_pantry_file(t: &mut Tape) -> PantryFile {
    let pantry = any_pantry(t);
    PantryFile { crumbline: FORMAT_VERSION, unit: Some(t.unit), pantry }
}

/// A logo as makers have them: letters as outlines, or a picture with a see-through ground.
fn any_logo(t: &mut Tape) -> String {
    if t.chance(2) {
        let drawing = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 40 20\"><circle cx=\"10\" cy=\"10\" r=\"9\" \
                       fill=\"#6a3a52\"/><path d=\"M22 4h14v12h-14z\" opacity=\".5\"/></svg>";
        return t.file("svg", drawing.into());
    }
    let (wide, high) = (t.count(1, 90) as u32, t.count(1, 90) as u32);
    let logo = image::RgbaImage::from_fn(wide, high, |x, y| {
        image::Rgba([200, 40, 90, ((x * 7 + y * 3) % 256) as u8])
    });
    let mut bytes = std::io::Cursor::new(Vec::new());
    logo.write_to(&mut bytes, image::ImageFormat::Png).expect("memory does not fail");
    t.file("png", bytes.into_inner())
}

/// The pantry of one cake, laid over the usual one.
pub fn any_pantry(t: &mut Tape) -> Pantry {
    Pantry {
        pans: t.maybe(2, |t| t.list(1, 6, any_pan)),
        oven: t.maybe(3, |t| Oven {
            at_once: t.maybe(2, |t| t.count(1, 6) as u32),
            most_loads: t.maybe(3, |t| t.count(1, 8) as u32),
        }),
        boards: t.maybe(3, |t| {
            t.list(0, 3, |t| OwnedBoard {
                round: t.maybe(2, |t| t.size(80.0, 300.0)),
                thickness: t.size(2.0, 8.0),
                material: t.maybe(2, |t| (*t.pick(&["card board", "plywood board"])).to_owned()),
                price: t.maybe(2, |t| t.share(0.0, 9.0)),
            })
        }),
        dowels: t.maybe(3, |t| {
            t.list(0, 3, |t| OwnedDowel {
                diameter: t.size(3.0, 12.0),
                length: t.size(100.0, 400.0),
                material: t
                    .maybe(2, |t| (*t.pick(&["wooden dowel", "plastic dowel", "bamboo skewer"])).to_owned()),
                price: t.maybe(2, |t| t.share(0.0, 3.0)),
            })
        }),
        recipes: any_recipes(t),
        goods: any_goods(t),
        stacking: t.maybe(2, any_stacking),
        extra: t.maybe(4, |t| Extra {
            batter: t.maybe(2, |t| t.share(0.0, 0.5)),
            filling: t.maybe(2, |t| t.share(0.0, 0.5)),
            coating: t.maybe(2, |t| t.share(0.0, 0.5)),
            icing: t.maybe(2, |t| t.share(0.0, 0.5)),
            details: t.maybe(2, |t| t.share(0.0, 2.0)),
        }),
        servings: t.maybe(4, |t| Servings {
            portion: t.maybe(2, |t| [t.size(20.0, 60.0), t.size(20.0, 60.0), t.size(40.0, 120.0)]),
            truffle: t.maybe(2, |t| t.share(8.0, 40.0)),
        }),
        spaces: if t.chance(3) {
            BTreeMap::from([(t.name(), [t.size(200.0, 900.0), t.size(200.0, 900.0), t.size(200.0, 900.0)])])
        } else {
            BTreeMap::new()
        },
        money: t.maybe(2, any_money),
        maker: t.maybe(4, |t| Maker {
            name: t.maybe(2, Tape::name),
            address: t.maybe(2, |t| t.list(0, 3, Tape::name)),
            email: t.maybe(2, |t| (*t.pick(&["a@b.example", "cakes+1@example.org"])).to_owned()),
            accent: t.maybe(2, Tape::colour),
            ground: t.maybe(2, Tape::colour),
            logo: t.maybe(3, any_logo),
        }),
        region: t.maybe(3, |t| *t.pick(&[Region::Eu, Region::Uk, Region::Us, Region::Au, Region::Nz])),
        work: t.maybe(4, |t| Work {
            mix: t.maybe(2, |t| t.share(0.0, 60.0)),
            oven: t.maybe(2, |t| t.share(0.0, 120.0)),
            level: t.maybe(2, |t| t.share(0.0, 20.0)),
            stack: t.maybe(2, |t| t.share(0.0, 20.0)),
            board: t.maybe(2, |t| t.share(0.0, 20.0)),
            carve: t.maybe(2, |t| t.share(0.0, 60.0)),
            coat: t.maybe(2, |t| t.share(0.0, 20.0)),
            cover: t.maybe(2, |t| t.share(0.0, 20.0)),
            detail: t.maybe(2, |t| t.share(0.0, 60.0)),
            detail_again: t.maybe(3, |t| t.share(0.0, 20.0)),
            roll: t.maybe(3, |t| t.share(0.0, 30.0)),
            finish: t.maybe(3, |t| t.share(0.0, 20.0)),
            each_cake: t.maybe(2, |t| t.share(0.0, 300.0)),
        }),
        times: t.maybe(4, |t| {
            let from = t.share(0.0, 12.0);
            Times {
                dry: t.maybe(2, |t| t.share(0.0, 200.0)),
                cool: t.maybe(2, |t| t.share(0.0, 12.0)),
                chill: t.maybe(2, |t| t.share(0.0, 24.0)),
                settle: t.maybe(2, |t| t.share(0.0, 24.0)),
                firm: t.maybe(2, |t| t.share(0.0, 24.0)),
                ganache: t.maybe(3, |t| t.share(0.0, 24.0)),
                marzipan: t.maybe(3, |t| t.share(0.0, 48.0)),
                set: t.maybe(2, |t| t.share(0.0, 24.0)),
                rest: t.maybe(2, |t| t.share(0.0, 24.0)),
                paint: t.maybe(3, |t| t.share(0.0, 12.0)),
                from: Some(from),
                to: Some(from + t.share(0.5, 11.0)),
            }
        }),
        paper: t.maybe(5, settings::any_paper),
        carving: t.maybe(5, settings::any_carving),
        icing: t.maybe(5, settings::any_icing),
        units: t.maybe(5, settings::any_units),
        printing: t.maybe(5, settings::any_printing),
    }
}

fn any_pan(t: &mut Tape) -> OwnedPan {
    let (mut round, mut square, mut rectangle, mut half_ball) = (None, None, None, None);
    let kind = t.below(5);
    let across = t.number(100.0, 400.0);
    match kind {
        1 => square = Some(t.size_of(across)),
        2 => rectangle = Some([t.size_of(across), t.size(100.0, 400.0)]),
        3 => half_ball = Some(t.size_of(across)),
        _ => round = Some(t.size_of(across)),
    }
    let depth = t.number(50.0, 100.0);
    OwnedPan {
        round,
        square,
        rectangle,
        half_ball,
        depth: (kind != 3).then(|| t.size_of(depth)),
        level: (kind != 3).then(|| t.size_of(0.8 * depth)),
        count: t.maybe(2, |t| t.count(1, 4) as u32),
    }
}

fn any_recipes(t: &mut Tape) -> BTreeMap<String, Recipe> {
    let one = |t: &mut Tape| {
        let parts = t.maybe(2, |t| {
            BTreeMap::from([
                ("flour".to_owned(), t.share(0.1, 5.0)),
                ("butter".to_owned(), t.share(0.1, 5.0)),
            ])
        });
        let fill = t.maybe(4, |t| t.share(0.3, 0.9));
        Recipe {
            parts,
            mixing: t.maybe(4, |t| t.share(100.0, 5000.0)),
            // One or the other.
            batter_per_litre: if fill.is_none() { t.maybe(4, |t| t.share(300.0, 900.0)) } else { None },
            fill,
            batter_density: t.maybe(4, |t| t.share(0.5, 1.2)),
            minutes: t.maybe(4, |t| t.share(5.0, 400.0)),
            temperature: t.maybe(4, |t| t.share(90.0, 220.0)),
            rise: t.maybe(4, |t| t.share(1.0, 2.5)),
            density: t.maybe(3, |t| t.share(0.2, 1.2)),
            syrup: t.maybe(4, |t| t.share(0.0, 300.0)),
        }
    };
    if t.chance(3) { BTreeMap::from([("sponge".to_owned(), one(t))]) } else { BTreeMap::new() }
}

fn any_goods(t: &mut Tape) -> BTreeMap<String, Goods> {
    let count = t.below(4);
    let names = ["flour", "butter", "rolled icing", "=cmd|' /C calc'!A0"];
    (0..count)
        .map(|i| {
            let goods = Goods {
                pack: t.maybe(2, |t| t.share(50.0, 5000.0)),
                price: t.maybe(2, |t| t.share(0.0, 50.0)),
                each: t.maybe(6, |t| t.share(1.0, 200.0)),
                allergens: t.maybe(2, |t| t.list(0, 3, Tape::name)),
            };
            (names[i].to_owned(), goods)
        })
        .collect()
}

fn any_stacking(t: &mut Tape) -> Stacking {
    Stacking {
        step: t.maybe(4, |t| t.size(3.0, 15.0)),
        thinnest: t.maybe(4, |t| t.size(12.0, 35.0)),
        shave: t.maybe(4, |t| t.length(0.0, 15.0)),
        shave_top: t.maybe(4, |t| t.length(0.0, 10.0)),
        board_every: t.maybe(4, |t| t.size(60.0, 300.0)),
        overhang: t.maybe(4, |t| t.share(0.0, 1.0)),
        foot: t.maybe(3, |t| (*t.pick(&["none", "cereal treat", "modelling chocolate"])).to_owned()),
        undercut: t.maybe(4, |t| t.share(0.0, 1.0)),
        foot_height: t.maybe(4, |t| t.size(20.0, 120.0)),
        shortfall: t.maybe(4, |t| t.share(0.0, 200.0)),
        sponge: t.maybe(5, |t| (*t.pick(&["sponge", "mud cake"])).to_owned()),
        filling: t.maybe(4, |t| Filling { material: "jam".into(), thickness: t.size(1.0, 8.0) }),
        bake_cost: t.maybe(4, |t| t.share(0.0, 500.0)),
        load_cost: t.maybe(4, |t| t.share(0.0, 500.0)),
        board_cost: t.maybe(4, |t| t.share(0.0, 500.0)),
        overhang_cost: t.maybe(4, |t| t.share(0.0, 500.0)),
        piece_cost: t.maybe(4, |t| t.share(0.0, 100.0)),
    }
}

fn any_money(t: &mut Tape) -> Money {
    Money {
        currency: t.maybe(2, |t| (*t.pick(&["EUR", "USD", "JPY"])).to_owned()),
        decimals: t.maybe(3, |t| t.count(0, 4) as u32),
        hour: t.maybe(2, |t| t.share(0.0, 80.0)),
        overhead: t.maybe(3, |t| t.share(0.0, 20.0)),
        plastic: t.maybe(3, |t| t.share(0.0, 60.0)),
        presentation: t.maybe(3, |t| t.share(0.0, 20.0)),
        road: t.maybe(3, |t| t.share(0.0, 60.0)),
        margin: t.maybe(3, |t| t.share(0.0, 3.0)),
        tax: t.maybe(3, |t| t.share(0.0, 1.0)),
        tax_name: t.maybe(4, Tape::name),
        deposit: t.maybe(3, |t| t.share(0.0, 1.0)),
        valid_days: t.maybe(4, |t| t.count(1, 90) as u32),
    }
}
