//! Real pictures and drawings with bytes changed, taken out and put in: the readers may refuse them, but neither
//! stop the program nor take for ever.
//!
//! A few hundred of each run with every test; `CRUMBLINE_FUZZ_MINUTES=10` goes on for ten minutes with each.

use std::{
    io::Cursor,
    time::{Duration, Instant},
};

use crumbline::{
    outline::svg::{SvgQuery, read_svg_figure},
    trace::{Half, Options, Picture, Scale, trace},
};
use image::ImageFormat;
use proptest::{collection::vec, prelude::*};

use super::{drawn, png};
use crate::{fuzzing::tried_for_long, support::tolerance};

/// A change to a file: where, as a part of its length, and what.
#[derive(Debug, Clone)]
enum Change {
    Set(f64, u8),
    Flip(f64, u8),
    Cut(f64, f64),
    Repeat(f64, f64),
    Insert(f64, Vec<u8>),
}

fn change() -> impl Strategy<Value = Change> {
    prop_oneof![
        (0.0..1.0, any::<u8>()).prop_map(|(at, byte)| Change::Set(at, byte)),
        (0.0..1.0, 0..8_u8).prop_map(|(at, bit)| Change::Flip(at, bit)),
        (0.0..1.0, 0.0..0.3).prop_map(|(at, part)| Change::Cut(at, part)),
        (0.0..1.0, 0.0..0.2).prop_map(|(at, part)| Change::Repeat(at, part)),
        (0.0..1.0, vec(any::<u8>(), 1..6)).prop_map(|(at, bytes)| Change::Insert(at, bytes)),
    ]
}

fn changed(seed: &[u8], changes: &[Change]) -> Vec<u8> {
    let mut bytes = seed.to_vec();
    for change in changes {
        if bytes.is_empty() {
            break;
        }
        let place = |at: f64| ((at * bytes.len() as f64) as usize).min(bytes.len() - 1);
        match change {
            Change::Set(at, byte) => {
                let at = place(*at);
                bytes[at] = *byte;
            }
            Change::Flip(at, bit) => {
                let at = place(*at);
                bytes[at] ^= 1 << bit;
            }
            Change::Cut(at, part) => {
                let (from, to) = (place(*at), place(at + part));
                bytes.drain(from..to);
            }
            Change::Repeat(at, part) => {
                let (from, to) = (place(*at), place(at + part));
                let again = bytes[from..to].to_vec();
                bytes.splice(from..from, again);
            }
            Change::Insert(at, new) => {
                let at = place(*at);
                bytes.splice(at..at, new.iter().copied());
            }
        }
    }
    bytes
}

/// How many are tried at a time.
const CASES: u32 = 300;

/// Tries changed copies of the seeds.
fn fuzz(seeds: &[Vec<u8>], read: impl Fn(&[u8]) -> bool) {
    // What is changed goes all the way as long as it is not: or nothing past the reader would be tried.
    assert!(!seeds.is_empty() && seeds.iter().all(|seed| read(seed)));
    let cases = (0..seeds.len(), vec(change(), 1..6));
    tried_for_long(CASES, &cases, |(seed, changes)| {
        let start = Instant::now();
        read(&changed(&seeds[seed], &changes));
        // Far above what any of these takes, even where everything is slow.
        prop_assert!(start.elapsed() < Duration::from_secs(30), "this takes for ever");
        Ok(())
    });
}

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

#[test]
fn changed_drawings_do_no_harm() {
    let seeds = [
        r##"<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY w "30">]><svg xmlns="http://www.w3.org/2000/svg"
        xmlns:xlink="http://www.w3.org/1999/xlink" xmlns:d="http://example.org" width="200mm" height="100mm"
        viewBox="0 0 200 100"><style>.a { fill-rule: evenodd }</style><g d:label="front"
        transform="translate(3 4) rotate(12)"><path id="p" class="a" d="M10 10h&w;v30a5 8 10 1 0-9 9q3 4 5 6t9 9c1 2
        3 4 5 6s7 8 9 9zM15 15h5v5h-5z"/><use xlink:href="#q"/></g><defs><rect id="q" width="3" height="4"/></defs>
        <circle id="c" cx="5" cy="6" r="7"/><polygon points="1,2 3,4 5,1"/></svg>"##
            .as_bytes()
            .to_vec(),
        br#"<svg xmlns="http://www.w3.org/2000/svg" width="4in" height="3in"><g id="g"><ellipse rx="3" ry="4"/>
        <line x1="1" y2="3"/><text>a</text><image href="http://example.org/a.png"/></g></svg>"#
            .to_vec(),
    ];
    fuzz(&seeds, |bytes| {
        let mut found = false;
        for query in [
            SvgQuery::default(),
            SvgQuery { layer: Some("front".into()), ..SvgQuery::default() },
            SvgQuery { id: Some("g".into()), user_unit: Some(2.0), ..SvgQuery::default() },
            SvgQuery { id: Some("p".into()), ..SvgQuery::default() },
        ] {
            if let Ok(figure) = read_svg_figure(bytes, &query) {
                assert!(figure.region(tolerance(0.05)).area().is_finite());
                found = true;
            }
        }
        found
    });
}
