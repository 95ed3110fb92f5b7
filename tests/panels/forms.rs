//! Forms: what is typed and chosen goes into the text, with its unit, and what is wrong is told at the field.

use cakefile::CakeFile;
use egui::accesskit::Role;
use egui_kittest::kittest::Queryable;
use panels::workshop::Tab;

use super::bench::{press, type_into, window_on};

const CONE: &str = "crumbline = 2\nname = \"Cone\"   # for now\nunit = \"in\"\n[shape.turned]\npoints = [[4, 0], [0, 8]]\n\
                    [[covering]]\nmaterial = \"ganache\"\nthickness = \"6 mm\"   # thin\n\
                    [[tier]]\nname = \"all\"\n[[tier.layer]]\npan = { round = 8 }\nheight = 8\n";

#[test]
fn a_length_is_written_as_it_is_typed_and_comments_stay() {
    let mut window = window_on(CONE, Tab::Coats);
    type_into(&mut window, "Thickness", "1/4 in");
    let text = window.state().text().to_owned();
    assert_eq!(text, CONE.replace("\"6 mm\"", "\"1/4 in\""));
    type_into(&mut window, "Thickness", "0,3");
    assert!(window.state().text().contains("thickness = 0.3   # thin"), "{}", window.state().text());
    assert!(window.state_mut().workshop.session_mut().unwrap().undo());
    assert_eq!(window.state().text(), text);
}

#[test]
fn what_is_wrong_is_told_at_the_field_in_the_words_of_the_file() {
    let mut window = window_on(CONE, Tab::Coats);
    type_into(&mut window, "Thickness", "thin");
    let file = CakeFile::from_text("cake", "", window.state().text());
    let problem = file.parse().problems.into_iter().next().expect("it is wrong");
    assert!(window.query_by_label_contains(&problem.message).is_some(), "{problem:?}");
    type_into(&mut window, "Thickness", "5");
    assert!(window.query_by_label_contains(&problem.message).is_none());
}

#[test]
fn escape_leaves_a_field_as_it_was() {
    let mut window = window_on(CONE, Tab::Coats);
    super::bench::field(&window, "Thickness").focus();
    window.run();
    super::bench::field(&window, "Thickness").type_text("99");
    window.run();
    window.key_press(egui::Key::Escape);
    window.run();
    assert_eq!(window.state().text(), CONE);
}

#[test]
fn an_emptied_field_is_a_key_that_is_left_out() {
    let mut window = window_on(CONE, Tab::Coats);
    type_into(&mut window, "Colour", "#aa8866");
    assert!(window.state().text().contains("colour = \"#aa8866\""), "{}", window.state().text());
    type_into(&mut window, "Colour", "");
    assert_eq!(window.state().text(), CONE);
}

#[test]
fn coats_are_added_moved_copied_and_taken_out() {
    let mut window = window_on(CONE, Tab::Coats);
    press(&mut window, "Add coat");
    assert_eq!(window.state().text().matches("[[covering]]").count(), 2);
    let outcome = &window.state().outcome;
    assert!(outcome.problems.is_empty() && outcome.failed.is_none(), "{:?}", outcome.problems);
    let out = window.get_all_by_role_and_label(Role::Button, "Take out").last().unwrap();
    out.click();
    window.run();
    assert_eq!(window.state().text(), CONE);
}

#[test]
fn a_kind_is_chosen_and_its_size_stays() {
    let mut window = window_on(CONE, Tab::Stack);
    window.get_by_role_and_label(Role::ComboBox, "Kind of pan").click();
    window.run();
    window.get_by_label("square").click();
    window.run();
    assert!(window.state().text().contains("pan = { square = 8 }"), "{}", window.state().text());
    window.get_by_role_and_label(Role::ComboBox, "Kind of pan").click();
    window.run();
    window.get_by_label("rectangle").click();
    window.run();
    assert!(window.state().text().contains("pan = { rectangle = [8, 8] }"), "{}", window.state().text());
}

#[test]
fn an_order_is_added_from_nothing() {
    let mut window = window_on(CONE, Tab::Order);
    press(&mut window, "Add order");
    type_into(&mut window, "Serves", "40");
    type_into(&mut window, "Client", "The gardening club");
    let text = window.state().text();
    assert!(text.contains("serves = 40") && text.contains("client = \"The gardening club\""), "{text}");
    assert!(window.state().outcome.problems.is_empty());
}
