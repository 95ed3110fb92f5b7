//! Details are laid on the cake, marks on its picture, and its numbers are brought into another unit.

use std::{collections::BTreeMap, io::Cursor};

use cakefile::FieldPath;
use egui::{Key, accesskit::Role};
use egui_kittest::kittest::Queryable;
use geom::revolve::at_bearing;
use image::{GrayImage, ImageFormat, Luma};
use panels::{
    Session,
    workshop::{Folders, Tab},
};

use super::bench::{press, window, window_on};

const EYED: &str = "crumbline = 2\nname = \"Drum\"\n[board]\nround = 300\nthickness = 12\n[shape.turned]\n\
    points = [[90, 0], [90, 100], [0, 100]]\n[[tier]]\nname = \"one\"\n[[tier.layer]]\npan = { round = 190 }\n\
    height = 50\n[[tier.layer]]\npan = { round = 190 }\nheight = 60\n[[detail]]\nname = \"eye\"\nadd = \"icing\"\n\
    [detail.ball]\ncentre = [0, -90, 50]   # in front\ndiameter = 20\n[[detail]]\nname = \"cap\"\ncut = \"sponge\"\n\
    [detail.half_space]\npoint = [0, 0, 95]\nnormal = [0, 0, 1]\n";

fn detail(index: usize) -> FieldPath {
    FieldPath::root().key("detail").index(index)
}

#[test]
fn a_selected_detail_is_laid_where_the_maker_clicks() {
    let mut window = window_on(EYED, Tab::Details);
    assert!(window.query_by_label_contains("where I click").is_none(), "nothing is selected");
    window.state_mut().workshop.select(Some(detail(1)));
    window.run();
    assert!(window.query_by_label_contains("where I click").is_none(), "a plane lies nowhere");
    window.state_mut().workshop.select(Some(detail(0)));
    window.run();
    press(&mut window, "Lay eye where I click on the cake");
    let asked = window.state().workshop.asks_for_place();
    assert_eq!(asked.as_deref(), Some("Click on the cake where the middle of eye is to lie."));
    assert!(window.state_mut().workshop.place_at(at_bearing(90.0, 70.0, 90.0)));
    window.run();
    assert!(window.state().text().contains("centre = [90, 0, 70]   # in front"), "{}", window.state().text());
    assert!(!window.state_mut().workshop.place_at(at_bearing(90.0, 20.0, 0.0)), "once is enough");
    // Escape leaves it.
    press(&mut window, "Lay eye where I click on the cake");
    window.key_press(Key::Escape);
    window.run();
    assert_eq!(window.state().workshop.asks_for_place(), None);
}

#[test]
fn a_detail_is_dragged_along_the_surface_in_one_step() {
    let mut window = window_on(EYED, Tab::Look);
    window.state_mut().workshop.select(Some(detail(0)));
    let workshop = &mut window.state_mut().workshop;
    assert!(workshop.is_movable(0) && !workshop.is_movable(1));
    let from = at_bearing(90.0, 50.0, 0.0);
    for bearing in [10.0, 20.0, 45.0] {
        workshop.drag_detail(0, from, at_bearing(90.0, 50.0 + bearing, bearing));
    }
    window.run();
    // 90 mm at 45° are 63.6 mm to the right and as much to the front.
    assert!(
        window.state().text().contains("centre = [64, -64, 95]   # in front"),
        "{}",
        window.state().text()
    );
    window.state_mut().workshop.session_mut().unwrap().undo();
    assert_eq!(window.state().text(), EYED);
}

/// A black drop on white paper, 200 pixels wide and 400 high.
fn picture() -> Vec<u8> {
    let inside = |x: u32, y: u32| (100..300).contains(&x) && (50..450).contains(&y);
    let image = GrayImage::from_fn(400, 500, |x, y| Luma([if inside(x, y) { 20 } else { 240 }]));
    let mut bytes = Cursor::new(Vec::new());
    image.write_to(&mut bytes, ImageFormat::Png).unwrap();
    bytes.into_inner()
}

#[test]
fn marks_on_a_picture_say_how_large_it_is() {
    let text = "crumbline = 2\nname = \"Block\"\n[shape.turned.picture]\nfile = \"block.png\"   # mine\nheight = 200\n";
    let beside = BTreeMap::from([("block.png".to_owned(), picture())]);
    let session = Session::new("new/block.cake.toml", text, beside);
    let mut window = window(Some(session), &Folders::default());
    window.state_mut().workshop.show_tab(Tab::Shape);
    window.run();
    press(&mut window, "Picture as taken");
    press(&mut window, "two marks");
    // The height that the picture had is gone, and marks stand in its place.
    let told = window.state().text().to_owned();
    assert!(told.contains("marks = [[100, 450], [300, 450]]") && !told.contains("height"), "{told}");
    assert!(told.contains("file = \"block.png\"   # mine"), "{told}");
    // The first mark is dragged, the second moved by keys; a pixel of the picture is 0.66 points.
    let mark = window.get_by_role_and_label(Role::Button, "Mark 1").rect().center();
    window.drag_at(mark);
    window.run();
    window.hover_at(mark + egui::vec2(-20.0, 0.0));
    window.run();
    window.drop_at(mark + egui::vec2(-20.0, 0.0));
    window.run();
    window.get_by_role_and_label(Role::Button, "Mark 2").focus();
    window.run();
    window.key_press(Key::ArrowUp);
    window.run();
    let text = window.state().text().to_owned();
    assert!(text.contains(", [300, 449]]") && !text.contains("[100, 450]"), "{text}");
    press(&mut window, "Set the centre line");
    assert!(window.state().text().contains("axis = 200"), "{}", window.state().text());
    press(&mut window, "Two more marks across");
    assert!(window.state().text().contains("marks_across = [["), "{}", window.state().text());
    window.get_by_role_and_label(Role::CheckBox, "Straighten it").click();
    window.run();
    assert!(window.state().text().contains("straighten = false"));
    press(&mut window, "its height");
    let text = window.state().text();
    assert!(text.contains("height = ") && !text.contains("marks") && !text.contains("distance"), "{text}");
}

#[test]
fn another_unit_keeps_the_cake_as_large_as_it_is() {
    let mut window = window_on(EYED, Tab::Settings);
    let volume = |window: &super::bench::Window| {
        window.state().outcome.planned.as_ref().unwrap().plan.line_volumes()[0]
    };
    let before = volume(&window);
    press(&mut window, "inches");
    assert!(window.state().text().contains("unit = \"in\""), "{}", window.state().text());
    let after = volume(&window);
    assert!((after / before - 1.0).abs() < 1e-3, "{before} and {after} mm³");
}
