//! The steps of the making, each with its panel, by mouse and by keyboard.

use std::fs;

use cakefile::Severity;
use egui::{Key, Modifiers, accesskit::Role, vec2};
use egui_kittest::kittest::Queryable;
use panels::{
    make_panel::Product,
    recovery::left_behind,
    workshop::{Folders, Request, Tab},
};

use super::bench::{button, example, press, type_into, window, window_on};

/// A cake on a board that is too small for it: the plan has a fix that is an edit.
const WIDE: &str = "crumbline = 2\nname = \"Wide\"\n[board]\nround = 300\nthickness = 12\n[shape.turned]\n\
                    points = [[90, 0], [90, 100], [0, 100]]\n[[tier]]\nname = \"only\"\n\
                    [[tier.layer]]\npan = { round = 160 }\nheight = 50\n[[tier.layer]]\npan = { round = 200 }\nheight = 50\n";

#[test]
fn the_three_things_one_can_do_are_said_first_and_an_example_is_one_press_away() {
    let mut window = window(None, &Folders::default());
    for heading in ["1. A new cake", "2. A cake of yours", "3. An example"] {
        window.get_by_label(heading);
    }
    press(&mut window, "Garden urn");
    assert!(window.state().text().contains("Garden urn"));
    assert!(window.state().outcome.planned.is_some());
    assert!(
        !window.state().workshop.session().unwrap().is_unsaved(),
        "nothing is lost by closing an example"
    );
}

#[test]
fn a_cake_drawn_by_hand_is_begun_and_saved_by_keyboard_alone() {
    let folder = tempfile::tempdir().unwrap();
    let folders = Folders { documents: folder.path().to_owned(), ..Folders::default() };
    let mut window = window(None, &folders);
    button(&window, "Drawn by hand").focus();
    window.run();
    window.key_press(Key::Enter);
    window.run();
    type_into(&mut window, "Name", "Vase");
    type_into(&mut window, "Height of the finished cake", "240 mm");
    button(&window, "Begin").focus();
    window.run();
    window.key_press(Key::Enter);
    window.run();
    assert_eq!(window.state().workshop.tab(), Tab::Shape);
    assert!(
        window.state().workshop.session().unwrap().is_unsaved(),
        "it was asked for: it is not lost silently"
    );
    window.key_press_modifiers(Modifiers::COMMAND, Key::S);
    window.run();
    let file = folder.path().join("vase.cake.toml");
    type_into(&mut window, "Name", &file.display().to_string());
    assert!(file.is_file(), "{:?}", fs::read_dir(folder.path()).unwrap().collect::<Vec<_>>());
    let session = window.state().workshop.session().unwrap();
    assert_eq!(fs::read_to_string(&file).unwrap(), session.text());
    assert!(!session.is_unsaved() && session.path() == file);
}

#[test]
fn ctrl_and_a_number_shows_a_panel() {
    let mut window = window_on(WIDE, Tab::Look);
    for (key, tab) in [(Key::Num3, Tab::Stack), (Key::Num8, Tab::ToFix), (Key::Num1, Tab::Look)] {
        window.key_press_modifiers(Modifiers::COMMAND, key);
        window.run();
        assert_eq!(window.state().workshop.tab(), tab);
    }
}

#[test]
fn a_fix_is_done_by_its_button_and_taken_back_by_undo() {
    let mut window = window_on(WIDE, Tab::ToFix);
    let open = |window: &super::bench::Window| {
        let planned = window.state().outcome.planned.as_ref().unwrap();
        planned.plan.findings.iter().filter(|found| found.severity > Severity::Note).count()
    };
    let before = open(&window);
    assert!(before > 0);
    let fixes: Vec<String> = {
        let planned = window.state().outcome.planned.as_ref().unwrap();
        planned.plan.findings.iter().filter(|f| f.fix.edit.is_some()).map(|f| f.fix.words.clone()).collect()
    };
    let fix = fixes.first().expect("a fix that is an edit");
    press(&mut window, &format!("Do this fix: {fix}"));
    assert_ne!(window.state().text(), WIDE);
    assert!(window.state().outcome.problems.is_empty(), "{:?}", window.state().outcome.problems);
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run();
    assert_eq!(window.state().text(), WIDE);
    assert_eq!(open(&window), before);
}

#[test]
fn a_layer_is_made_higher_by_dragging_its_top_and_undone_at_once() {
    let mut window = window_on(WIDE, Tab::Stack);
    let layer = window.get_by_role_and_label(Role::Button, "only 2").rect();
    let from = egui::pos2(layer.center().x, layer.top() - 1.0);
    window.drag_at(from);
    window.run();
    for up in [4.0, 8.0, 12.0] {
        window.hover_at(from - vec2(0.0, up));
        window.run();
    }
    window.drop_at(from - vec2(0.0, 12.0));
    window.run();
    let text = window.state().text().to_owned();
    let height: f64 = text.rsplit("height = ").next().unwrap().trim().parse().unwrap();
    assert!((52.0..80.0).contains(&height), "{text}");
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run();
    assert_eq!(window.state().text(), WIDE, "one gesture is one step");
}

#[test]
fn a_layer_that_is_clicked_shows_its_pan() {
    let mut window = window_on(WIDE, Tab::Stack);
    window.get_by_role_and_label(Role::Button, "only 1").click();
    window.run();
    window.get_by_label("Layer 1 of tier 1");
}

#[test]
fn a_corner_is_dragged_typed_and_moved_by_keys() {
    let mut window = window_on(WIDE, Tab::Shape);
    let corner = window.get_by_role_and_label(Role::Button, "Corner 2").rect().center();
    window.drag_at(corner);
    window.run();
    window.hover_at(corner + vec2(-12.0, 0.0));
    window.run();
    window.drop_at(corner + vec2(-12.0, 0.0));
    window.run();
    let text = window.state().text();
    assert!(!text.contains("[90, 100]") && text.contains(", 100], [0, 100]]"), "{text}");
    type_into_first(&mut window, "Radius, height", "75");
    assert!(window.state().text().contains("[75, 100]"), "{}", window.state().text());
    window.get_by_role_and_label(Role::Button, "Corner 2").focus();
    window.run();
    window.key_press(Key::ArrowUp);
    window.run();
    assert!(window.state().text().contains("[75, 101]"), "{}", window.state().text());
}

fn type_into_first(window: &mut super::bench::Window, name: &str, text: &str) {
    window.get_all_by_role_and_label(Role::TextInput, name).next().unwrap().focus();
    window.run();
    window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    window.run();
    window.get_all_by_role_and_label(Role::TextInput, name).next().unwrap().type_text(text);
    window.run();
    window.key_press(Key::Enter);
    window.run();
}

#[test]
fn a_drawing_is_made_points_that_say_the_same_shape() {
    let mut window = window(Some(example("Sitting hen")), &Folders::default());
    window.state_mut().workshop.show_tab(Tab::Shape);
    window.run();
    let volume = |window: &super::bench::Window| {
        window.state().outcome.planned.as_ref().unwrap().plan.line_volumes()[0]
    };
    let before = volume(&window);
    press(&mut window, "Make it points to drag");
    assert!(window.state().outcome.problems.is_empty(), "{:?}", window.state().outcome.problems);
    let after = volume(&window);
    // Points lie within 0.2 mm of the drawing; the hen is some 200 mm wide.
    assert!((after / before - 1.0).abs() < 0.01, "{before} and {after}");
    assert!(window.state().text().contains("points = ["));
}

#[test]
fn making_saves_first_and_asks_where() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = window_on(WIDE, Tab::Make);
    press(&mut window, "Make the bench kit");
    assert!(window.state().requests.is_empty(), "it lies nowhere yet");
    let file = folder.path().join("wide.cake.toml");
    type_into(&mut window, "Name", &file.display().to_string());
    assert!(file.is_file());
    assert_eq!(window.state().requests, [Request::Make(Product::Kit)]);
}

#[test]
fn closing_asks_before_anything_is_lost_and_a_copy_is_kept_meanwhile() {
    let folder = tempfile::tempdir().unwrap();
    let folders = Folders {
        settings: Some(folder.path().join("settings.toml")),
        recovery: Some(folder.path().join("copies")),
        documents: folder.path().to_owned(),
        ..Folders::default()
    };
    let mut window = window(Some(super::bench::cake(WIDE)), &folders);
    window.state_mut().workshop.show_tab(Tab::Order);
    window.run();
    type_into(&mut window, "Name", "Wider");
    let copies = |ending: &str| {
        let files = fs::read_dir(folder.path().join("copies")).unwrap().flatten();
        files.filter(|file| file.path().extension().is_some_and(|e| e == ending)).count()
    };
    assert_eq!(copies("json"), 1);
    assert!(left_behind(&folder.path().join("copies")).is_empty(), "this window is open");
    window.key_press_modifiers(Modifiers::COMMAND, Key::Q);
    window.run();
    assert!(window.state().requests.is_empty());
    press(&mut window, "Cancel");
    assert!(window.state().requests.is_empty() && window.state().text().contains("Wider"));
    window.key_press_modifiers(Modifiers::COMMAND, Key::Q);
    window.run();
    press(&mut window, "Lose the changes");
    assert_eq!(window.state().requests, [Request::Quit]);
    assert_eq!(copies("json"), 0);
}

#[test]
fn what_a_window_left_behind_is_offered_and_gone_on_with() {
    let folder = tempfile::tempdir().unwrap();
    let copies = folder.path().join("copies");
    fs::create_dir(&copies).unwrap();
    let copy = serde_json::json!({ "cake": folder.path().join("a.cake.toml"), "text": WIDE, "beside": [] });
    fs::write(copies.join("1-0.json"), copy.to_string()).unwrap();
    let folders = Folders { recovery: Some(copies.clone()), ..Folders::default() };
    let mut window = window(None, &folders);
    window.get_by_label_contains("a.cake.toml was not saved");
    press(&mut window, "Go on with it");
    assert_eq!(window.state().text(), WIDE);
    assert!(window.state().workshop.session().unwrap().is_unsaved());
    assert!(!copies.join("1-0.json").exists());
}

#[test]
fn a_pantry_of_ones_own_is_begun_kept_and_undone() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("config/pantry.toml");
    let folders = Folders { pantry: Some(file.clone()), ..Folders::default() };
    let mut window = window(Some(super::bench::cake(WIDE)), &folders);
    window.state_mut().workshop.show_tab(Tab::Pantry);
    window.run();
    assert!(!file.exists());
    press(&mut window, "Begin a pantry of your own");
    assert_eq!(fs::read_to_string(&file).unwrap(), plan::pantry::USUAL);
    let before = window.state().workshop.pantry_changes();
    type_into(&mut window, "At once", "3");
    let text = fs::read_to_string(&file).unwrap();
    assert!(text.contains("at_once = 3                  # common practice"), "{}", &text[..2000]);
    assert_eq!(window.state().workshop.pantry_changes(), before + 1);
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run();
    assert_eq!(fs::read_to_string(&file).unwrap(), plan::pantry::USUAL);
    assert_eq!(window.state().text(), WIDE, "the cake is not touched");
}

/// A pantry beside the cake counts before the maker's own.
#[test]
fn the_pantry_beside_the_cake_is_the_one_that_is_edited() {
    let folder = tempfile::tempdir().unwrap();
    let (cake, beside) = (folder.path().join("a.cake.toml"), folder.path().join("pantry.toml"));
    fs::write(&cake, WIDE).unwrap();
    fs::write(&beside, "crumbline = 2\n[pantry.oven]\nat_once = 1\n").unwrap();
    let folders = Folders { pantry: Some(folder.path().join("own.toml")), ..Folders::default() };
    let mut window = window(None, &folders);
    window.state_mut().workshop.open(&cake);
    window.state_mut().workshop.show_tab(Tab::Pantry);
    window.run();
    type_into(&mut window, "At once", "4");
    assert!(fs::read_to_string(&beside).unwrap().contains("at_once = 4"));
    assert!(!folder.path().join("own.toml").exists());
}

/// A file that is chosen lies beside the cake once it is saved, and is named there; one that lies there is only named.
#[test]
fn a_file_is_chosen_for_an_outline() {
    let folder = tempfile::tempdir().unwrap();
    let (elsewhere, cakes) = (folder.path().join("elsewhere"), folder.path().join("cakes"));
    fs::create_dir_all(&elsewhere).unwrap();
    fs::create_dir_all(&cakes).unwrap();
    let square = "<svg xmlns='http://www.w3.org/2000/svg' width='80mm' height='100mm' viewBox='0 0 80 100'>\
                  <path d='M0 0H80V100H0Z'/></svg>";
    fs::write(elsewhere.join("half.svg"), square).unwrap();
    let cake = cakes.join("a.cake.toml");
    let text = WIDE.replace("points = [[90, 0], [90, 100], [0, 100]]", "svg = { file = \"missing.svg\" }");
    assert_ne!(text, WIDE);
    fs::write(&cake, &text).unwrap();
    let mut window = window(None, &Folders::default());
    window.state_mut().workshop.open(&cake);
    window.state_mut().workshop.show_tab(Tab::Shape);
    window.run();
    assert!(window.state().outcome.planned.is_none(), "the drawing is missing");
    press(&mut window, "Choose the file");
    type_into(&mut window, "Name", &elsewhere.join("half.svg").display().to_string());
    assert!(window.state().text().contains("file = \"half.svg\""), "{}", window.state().text());
    assert!(window.state().outcome.planned.is_some(), "{:?}", window.state().outcome.problems);
    window.key_press_modifiers(Modifiers::COMMAND, Key::S);
    window.run();
    assert_eq!(fs::read_to_string(cakes.join("half.svg")).unwrap(), square);
    assert!(fs::read_to_string(&cake).unwrap().contains("half.svg"));
}
