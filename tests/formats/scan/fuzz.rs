//! Whatever bytes come, reading ends in a model or in an error, and fixing in a sound solid or in an error.
//!
//! `CRUMBLINE_FUZZ_MINUTES=10` tries each format for ten minutes; without it a moment. What was found once is kept
//! in `bad`.

use formats::scan::{Format, Placing, RepairOptions, Scale, repaired};
use proptest::prelude::*;

use super::models::{self, AS_IT_IS, pebble, read_alone, wedge};
use crate::fuzzing::tried_for_long;

/// How many files of each format are tried without being asked for more.
const FEW: u32 = 60;

/// What is done to a file.
#[derive(Debug, Clone)]
enum Change {
    /// A byte becomes another.
    Byte(usize, u8),
    /// Four bytes become a number that is likely to hurt.
    Number(usize, u32),
    /// The end is missing.
    Cut(usize),
    /// A piece is there twice.
    Double(usize, usize),
    /// A piece is missing.
    Drop(usize, usize),
}

fn change() -> impl Strategy<Value = Change> {
    let at = any::<prop::sample::Index>().prop_map(|index| index.index(usize::MAX));
    let sharp =
        prop::sample::select(vec![0, 1, 2, 0x7fff_ffff, u32::MAX, 0x7f80_0000, 0xff80_0000, 0x7fc0_0000]);
    prop_oneof![
        4 => (at.clone(), any::<u8>()).prop_map(|(at, byte)| Change::Byte(at, byte)),
        3 => (at.clone(), sharp).prop_map(|(at, number)| Change::Number(at, number)),
        1 => at.clone().prop_map(Change::Cut),
        1 => (at.clone(), 1..200usize).prop_map(|(at, length)| Change::Double(at, length)),
        1 => (at, 1..200usize).prop_map(|(at, length)| Change::Drop(at, length)),
    ]
}

fn changed(bytes: &[u8], changes: &[Change]) -> Vec<u8> {
    let mut bytes = bytes.to_vec();
    for change in changes {
        let place = |at: usize| at % bytes.len().max(1);
        match *change {
            _ if bytes.is_empty() => break,
            Change::Byte(at, byte) => {
                let at = place(at);
                bytes[at] = byte;
            }
            Change::Number(at, number) => {
                let at = place(at);
                number.to_le_bytes().iter().zip(bytes[at..].iter_mut()).for_each(|(new, old)| *old = *new);
            }
            Change::Cut(at) => {
                let at = place(at);
                bytes.truncate(at);
            }
            Change::Double(at, length) => {
                let at = place(at);
                let piece = bytes[at..(at + length).min(bytes.len())].to_vec();
                bytes.splice(at..at, piece);
            }
            Change::Drop(at, length) => {
                let at = place(at);
                let end = (at + length).min(bytes.len());
                bytes.drain(at..end);
            }
        }
    }
    bytes
}

/// Reads, places and repairs; panics if what comes of it is no solid on the board. Whether anything does.
fn tried(bytes: &[u8], format: Format) -> bool {
    let Ok(model) = read_alone(bytes, format) else { return false };
    let placing = Placing { scale: Scale::Height(90.0), sink: 4.0, ..AS_IT_IS };
    let Ok(placed) = placing.of(&model) else { return false };
    let Ok(repaired) = repaired(&placed, &RepairOptions::default()) else { return false };
    repaired.mesh.check().unwrap();
    let (lo, hi) = repaired.mesh.bounds().unwrap();
    assert!(lo.z == 0.0 && hi.z <= 90.0 + 1e-6, "{lo} to {hi}");
    true
}

fn fuzz(format: Format, seeds: Vec<Vec<u8>>) {
    // What is changed goes all the way as long as it is not: or nothing past the reader would be tried.
    assert!(!seeds.is_empty() && seeds.iter().all(|seed| tried(seed, format)), "{format:?}");
    let files = (prop::sample::select(seeds), prop::collection::vec(change(), 0..6));
    tried_for_long(FEW, &files, |(seed, changes)| {
        tried(&changed(&seed, &changes), format);
        Ok(())
    });
}

#[test]
fn stl_files() {
    fuzz(
        Format::Stl,
        vec![models::stl(&wedge()), models::stl(&pebble(2)), models::ascii_stl(&wedge()).into()],
    );
}

#[test]
fn obj_files() {
    let polygons =
        "v 0 0 0\nv 9 0 0\nv 9 0 9\nv 0 0 9\nv 4 9 4\nf 1 2 3 4\nf -1 1 2\nf 5 2 3\nf 5 3 4\nf 5 4 1\n";
    fuzz(Format::Obj, vec![models::obj(&wedge()).into(), models::obj(&pebble(1)).into(), polygons.into()]);
}

#[test]
fn gltf_files() {
    use base64::{Engine, engine::general_purpose::STANDARD};
    let (json, _) = models::gltf(&pebble(1), |bytes| format!("data:;base64,{}", STANDARD.encode(bytes)));
    fuzz(Format::Gltf, vec![json.into()]);
}

#[test]
fn glb_files() {
    let (json, bytes) = models::gltf(&pebble(2), |_| String::new());
    let json = json.replace("\"uri\":\"\",", "").replace(",\"uri\":\"\"", "");
    fuzz(Format::Glb, vec![models::glb(&json, &bytes)]);
}

#[test]
fn threemf_files() {
    fuzz(Format::ThreeMf, vec![models::threemf(&wedge(), "inch"), models::threemf(&pebble(1), "millimeter")]);
}
