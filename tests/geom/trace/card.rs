//! The scale card in photographs by a pinhole camera: what is measured beside it and on it, and what is refused.

use geom::trace::{
    CardFault, CardUse, Keep, Options, Picture, Scale, Trace, TraceError,
    card::layout::{self, MARKS, is_black},
    trace,
};
use glam::{DVec2, dvec2};
use image::DynamicImage;
use kurbo::Shape;
use proptest::prelude::*;

use crate::{
    cameras::{Pinhole, Spoiling},
    fuzzing::tried_for_long,
};

const PAPER: f64 = 0.88;
const INK: f64 = 0.14;

/// A card that lies somewhere in the plane.
#[derive(Debug, Clone, Copy)]
struct Lying {
    at: DVec2,
    /// How far it is turned, degrees.
    turn: f64,
}

impl Lying {
    /// The brightness of the card at a point of the plane; `None` beside it.
    fn shown(&self, p: DVec2) -> Option<f64> {
        let p = DVec2::from_angle(-self.turn.to_radians()).rotate(p - self.at);
        let is_on = p.abs().cmplt(dvec2(105.0, 148.5)).all();
        is_on.then(|| if is_black(p) { INK } else { PAPER })
    }
}

/// What is photographed: a template of 180 × 120 mm with a corner cut off at `at`, a card, a ground.
#[derive(Debug, Clone, Copy)]
struct Scene {
    card: Lying,
    template: f64,
    at: DVec2,
    size: DVec2,
    ground: f64,
}

impl Scene {
    fn beside(template: f64, ground: f64) -> Self {
        let card = Lying { at: dvec2(-125.0, 10.0), turn: 0.0 };
        Self { card, template, at: dvec2(90.0, -10.0), size: dvec2(180.0, 120.0), ground }
    }

    /// On the blank part of the card.
    fn on(template: f64, ground: f64) -> Self {
        Self { at: dvec2(-115.0, 10.0), size: dvec2(120.0, 80.0), ..Self::beside(template, ground) }
    }

    fn shown(&self, p: DVec2) -> f64 {
        let q = p - self.at;
        let inside = (self.size / 2.0 - q.abs()).min_element() > 0.0
            && q.x + q.y < self.size.element_sum() / 2.0 - 40.0;
        if inside { self.template } else { self.card.shown(p).unwrap_or(self.ground) }
    }

    fn area(&self) -> f64 {
        self.size.x * self.size.y - 40.0 * 40.0 / 2.0
    }
}

/// Tilt, direction of the tilt, and roll of the camera, degrees.
fn camera(pose: [f64; 3]) -> Pinhole {
    Pinhole::new((1600, 1200), 1500.0, dvec2(-20.0, 0.0), 780.0, pose)
}

fn by_hand(seed: u64) -> Spoiling {
    Spoiling { blur: 1.0, noise: 14.0, shade: 0.25, seed }
}

fn by_card() -> Options {
    Options { straighten: false, ..Options::new(Scale::Card) }
}

fn refused(image: DynamicImage, options: &Options) -> TraceError {
    match read(image, options) {
        Ok(found) => panic!("this was to be refused: {:?}", found.card),
        Err(error) => error,
    }
}

fn read(image: DynamicImage, options: &Options) -> Result<Trace, TraceError> {
    trace(&Picture::from_image(image).unwrap(), options)
}

/// Sides and area of the template within half a percent, and within the error that is stated.
#[track_caller]
fn assert_measured(scene: &Scene, found: &Trace) {
    let card = found.card.unwrap();
    let fitted = found.outline();
    let stated = card.error + 2.0 * fitted.error;
    // Turned upright, the template is turned with the camera: its area says its size whichever way it lies.
    let share = (fitted.path.area() / scene.area()).sqrt() - 1.0;
    assert!(
        share.abs() < 5e-3,
        "the size is off by {:.2} %, cut at {}: {scene:?} {card:?}",
        100.0 * share,
        found.threshold
    );
    let off = share.abs() * scene.size.max_element();
    assert!(off < stated, "off by {off} mm, more than the {stated} stated: {card:?}");
    assert!(card.error < 5e-3 * scene.size.max_element(), "{card:?}");
    assert!(!card.over_print && found.card_fault.is_none());
}

#[test]
fn a_template_beside_the_card_is_measured_at_any_tilt() {
    for (i, pose) in
        [[0.0, 0.0, 0.0], [20.0, 0.0, 5.0], [45.0, 270.0, 0.0], [45.0, 200.0, -12.0], [45.0, 20.0, 8.0]]
            .into_iter()
            .enumerate()
    {
        let scene = Scene::beside(0.2, 0.8);
        let found =
            read(camera(pose).photograph(|p| scene.shown(p), &by_hand(i as u64)), &by_card()).unwrap();
        assert_measured(&scene, &found);
        let card = found.card.unwrap();
        let cosines = [card.tilt, pose[0]].map(|degrees| degrees.to_radians().cos());
        assert!((cosines[0] - cosines[1]).abs() < 0.005, "{card:?}");
        assert!(card.crossings >= 15 && card.off < 0.3, "{card:?}");
        // Up in the picture is nearly up on the card, so that is up.
        assert!((found.size - scene.size).abs().max_element() < 0.9, "{}", found.size);
    }
}

#[test]
fn light_on_dark_and_dark_on_light_on_the_card_and_beside_it() {
    for (i, scene) in [
        Scene::beside(0.2, 0.8),
        Scene::beside(0.85, 0.25),
        Scene::beside(0.15, 0.45),
        Scene::on(0.2, 0.8),
        Scene::on(0.2, 0.15),
        Scene::on(0.3, 0.5),
    ]
    .into_iter()
    .enumerate()
    {
        let image = camera([35.0, 250.0, 6.0]).photograph(|p| scene.shown(p), &by_hand(i as u64));
        let found = read(image, &by_card()).unwrap_or_else(|error| panic!("{scene:?}: {error}"));
        assert_measured(&scene, &found);
        assert_eq!((found.islands, found.holes), (1, 0), "{scene:?}");
        // And back to the picture: the lower left corner lies where it is seen.
        let corner = scene.at - scene.size / 2.0;
        let seen = camera([35.0, 250.0, 6.0]).seen(corner);
        let nearest =
            found.edges()[0].iter().map(|p| found.pixel_of(*p).distance(seen)).fold(f64::INFINITY, f64::min);
        assert!(nearest < 4.0, "{nearest} pixels off");
    }
}

#[test]
fn the_card_may_lie_any_way_round() {
    for turn in [90.0, 180.0, 270.0, 33.0] {
        let mut scene = Scene::beside(0.2, 0.8);
        scene.card = Lying { at: dvec2(-170.0, 10.0), turn };
        let view = Pinhole::new((1600, 1200), 1400.0, dvec2(-50.0, 0.0), 900.0, [30.0, 300.0, 0.0]);
        let found = read(view.photograph(|p| scene.shown(p), &by_hand(3)), &by_card()).unwrap();
        assert_measured(&scene, &found);
        // Up stays up: the corner that is cut off is at the upper right.
        let bounds = found.outline().path.bounding_box();
        let corner = dvec2(bounds.x1, bounds.y1);
        let nearest = found.edges()[0].iter().map(|p| p.distance(corner)).fold(f64::INFINITY, f64::min);
        assert!(nearest > 15.0, "{turn}: {nearest}");
    }
}

/// Paper over one corner of the card.
fn hidden(scene: &Scene, marks: usize) -> impl Fn(DVec2) -> f64 {
    let scene = *scene;
    move |p| {
        let covered =
            MARKS[..marks].iter().any(|mark| (p - scene.card.at - *mark).abs().max_element() < 13.0);
        if covered { scene.ground } else { scene.shown(p) }
    }
}

#[test]
fn a_card_seen_in_part_gives_no_scale_and_says_so() {
    let scene = Scene::beside(0.2, 0.8);
    for (covered, message) in [
        (1, "only 3 of the 4 marks of the card are seen"),
        (2, "only 2 of the 4 marks of the card are seen"),
        (3, "only 1 of the 4 marks of the card is seen"),
        (4, "nothing says how large the outline is"),
    ] {
        let image = camera([30.0, 250.0, 0.0]).photograph(hidden(&scene, covered), &by_hand(9));
        let error = read(image.clone(), &by_card()).unwrap_err();
        assert_eq!(error.to_string(), message);
        assert!(!error.fix().is_empty());
        let needed = Options { card: CardUse::Needed, ..Options::new(Scale::Width(180.0)) };
        let refused = read(image.clone(), &needed).unwrap_err().to_string();
        assert_eq!(refused, if covered == 4 { "no scale card is seen in the picture" } else { message });
        // Where the size is given another way, the perspective stays in, and that is told.
        let given = Options { straighten: false, ..Options::new(Scale::Width(180.0)) };
        let found = read(image, &given).unwrap();
        let told = (covered < 3).then_some(CardFault::Partly { marks: 4 - covered });
        assert_eq!((found.card, found.card_fault), (None, told));
    }
}

#[test]
fn half_a_mark_is_none() {
    let scene = Scene::beside(0.2, 0.8);
    let half = |p: DVec2| {
        let q = p - scene.card.at - MARKS[2];
        if q.length() < 14.0 && q.x > 2.0 { scene.ground } else { scene.shown(p) }
    };
    let image = camera([20.0, 250.0, 0.0]).photograph(half, &by_hand(4));
    assert_eq!(refused(image, &by_card()), CardFault::Partly { marks: 3 }.into());
}

#[test]
fn what_is_no_flat_card_as_printed_is_refused() {
    let scene = Scene::beside(0.2, 0.8);
    let view = camera([25.0, 250.0, 0.0]);
    let mirrored = view.photograph(|p| scene.shown(p), &by_hand(2)).fliph();
    assert_eq!(refused(mirrored, &by_card()), CardFault::Misfit { marks: 4 }.into());
    // Cut in two, with a gap between.
    let cut = |p: DVec2| match p.x - scene.card.at.x {
        x if x < 60.0 => scene.shown(p),
        x if x < 90.0 => PAPER,
        _ => scene.shown(p - dvec2(30.0, 0.0)),
    };
    let wide = Pinhole::new((1600, 1200), 1500.0, dvec2(-20.0, 0.0), 900.0, [25.0, 250.0, 0.0]);
    let image = wide.photograph(cut, &by_hand(2));
    assert_eq!(refused(image, &by_card()), CardFault::Misfit { marks: 4 }.into());
    // Rolled up along its length: the bars lie off.
    let bent = |p: DVec2| {
        let x = p.x - scene.card.at.x;
        scene.shown(p + dvec2(0.0, 5.0 * (1.0 - (x / 80.0).powi(2)).max(-0.5) * f64::from(p.x < -20.0)))
    };
    let error = refused(view.photograph(bent, &by_hand(2)), &by_card());
    assert!(matches!(error, TraceError::Card(CardFault::Bent { off }) if off > 3.0), "{error}");
    let two = |p: DVec2| scene.card.shown(p - dvec2(230.0, 0.0)).unwrap_or_else(|| scene.shown(p));
    let image = Pinhole::new((1600, 1200), 1500.0, DVec2::ZERO, 780.0, [25.0, 250.0, 0.0])
        .photograph(two, &by_hand(2));
    assert_eq!(refused(image, &by_card()), CardFault::Several.into());
    let alone = view.photograph(|p| scene.card.shown(p).unwrap_or(0.8), &by_hand(2));
    assert_eq!(refused(alone, &by_card()), TraceError::OnlyCard);
}

/// A slightly bent card is used, but the error that is stated grows with it.
#[test]
fn the_stated_error_grows_with_how_far_the_bars_lie_off() {
    let scene = Scene::beside(0.2, 0.8);
    let with = |rise: f64| {
        let bent = |p: DVec2| {
            let x = p.x - scene.card.at.x;
            scene.shown(p + dvec2(0.0, rise * (1.0 - (x / 80.0).powi(2)).max(-0.5) * f64::from(p.x < -20.0)))
        };
        let image = camera([25.0, 250.0, 0.0]).photograph(bent, &by_hand(2));
        read(image, &by_card()).unwrap().card.unwrap()
    };
    let (flat, bent) = (with(0.0), with(1.5));
    assert!(bent.off > 5.0 * flat.off && bent.error > 2.0 * flat.error, "{flat:?} {bent:?}");
}

#[test]
fn a_size_that_is_given_rules_and_the_card_straightens() {
    let scene = Scene::beside(0.2, 0.8);
    let image = camera([45.0, 270.0, 0.0]).photograph(|p| scene.shown(p), &by_hand(1));
    let given = |scale| read(image.clone(), &Options { straighten: false, ..Options::new(scale) }).unwrap();
    let found = given(Scale::Height(60.0));
    assert!((found.size - scene.size / 2.0).abs().max_element() < 0.5, "{}", found.size);
    let by_card = found.card.unwrap().size;
    assert!((by_card - scene.size).abs().max_element() < 0.9, "{by_card}");
    let view = camera([45.0, 270.0, 0.0]);
    let marks = [dvec2(50.0, 90.0), dvec2(50.0, -90.0)].map(|p| view.seen(p));
    assert!((given(Scale::Marks(marks, 180.0)).size - scene.size).abs().max_element() < 0.9);
    // Without the card the near half is larger than the far one.
    let without = Options { card: CardUse::Ignored, straighten: false, ..Options::new(Scale::Width(180.0)) };
    let plain = read(image.clone(), &without).unwrap();
    assert!((plain.size.y - 120.0).abs() > 10.0 && plain.card.is_none(), "{}", plain.size);
    let nothing = Options { card: CardUse::Ignored, ..Options::new(Scale::Card) };
    assert_eq!(refused(image, &nothing), TraceError::NoScale);
}

#[test]
fn an_outline_over_the_print_is_told() {
    let mut scene = Scene::on(0.2, 0.8);
    scene.at = dvec2(-125.0, 110.0);
    scene.size = dvec2(110.0, 100.0);
    let image = camera([20.0, 250.0, 0.0]).photograph(|p| scene.shown(p), &by_hand(5));
    let card = read(image, &by_card()).unwrap().card.unwrap();
    assert!(card.over_print, "{card:?}");
}

#[test]
fn nothing_printed_is_part_of_the_outline_even_if_all_is_kept() {
    let scene = Scene::beside(0.2, 0.8);
    let image = camera([30.0, 250.0, 0.0]).photograph(|p| scene.shown(p), &by_hand(5));
    let found = read(image, &Options { keep: Keep::All, ..by_card() }).unwrap();
    assert_eq!((found.islands, found.holes, found.left_out), (1, 0, 0));
    assert!(layout::is_print(MARKS[0]));
}

/// Any camera that sees the whole card sharply enough.
#[test]
fn random_cameras_measure_alike() {
    let poses = (0.0..50.0, 0.0..360.0, -40.0..40.0, 0.0..360.0, 0.2..1.6, 0.0..18.0, 0.0..0.35, 0_u64..1000);
    tried_for_long(6, &poses, |(tilt, direction, roll, turn, blur, noise, shade, seed)| {
        let mut scene = Scene::beside(0.2, 0.8);
        scene.card = Lying { at: dvec2(-170.0, 0.0), turn };
        let view = Pinhole::new((1600, 1200), 1400.0, dvec2(-50.0, 0.0), 1000.0, [tilt, direction, roll]);
        let within = |p: DVec2| p.cmpgt(DVec2::splat(20.0)).all() && p.cmplt(dvec2(1580.0, 1180.0)).all();
        let corners = [dvec2(1.0, 1.0), dvec2(-1.0, 1.0), dvec2(-1.0, -1.0), dvec2(1.0, -1.0)];
        let turned = DVec2::from_angle(turn.to_radians());
        let sheet = corners.map(|c| scene.card.at + turned.rotate(c * dvec2(105.0, 148.5)));
        let template = corners.map(|c| scene.at + c * scene.size / 2.0);
        prop_assume!(sheet.into_iter().chain(template).all(|p| within(view.seen(p))));
        let spoiling = Spoiling { blur, noise, shade, seed };
        let image = view.photograph(|p| scene.shown(p), &spoiling);
        let found = read(image, &by_card()).map_err(|error| TestCaseError::fail(error.to_string()))?;
        let card = found.card.unwrap();
        let share = (found.outline().path.area() / scene.area()).sqrt() - 1.0;
        let stated = card.error / 180.0 + 2.0 * found.outline().error / 180.0;
        prop_assert!(share.abs() < 5e-3 && share.abs() < stated, "{share} {card:?}");
        Ok(())
    });
}
