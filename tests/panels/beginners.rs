//! Somebody who is here for the first time: what comes next, files that are dropped on the window, what a fix would do, and
//! pages to look at.

use std::{
    fs,
    path::Path,
    time::{Duration, Instant},
};

use cakefile::schema::PaperSize;
use egui::Key;
use egui_kittest::kittest::{NodeT, Queryable};
use formats::export;
use make::scale_card;
use panels::{
    make_panel::{Product, Progress},
    pages::{Seen, page_of},
    workshop::{Folders, Request, Tab},
};

use super::bench::{button, example, press, window, window_on};

const DRUM: &str = "crumbline = 2\nname = \"Drum\"\n[board]\nround = 300\nthickness = 12\n[shape.turned]\n\
                    points = [[90, 0], [90, 100], [0, 100]]\n";

#[test]
fn one_sentence_leads_from_the_outline_to_the_bench() {
    let mut window = window_on(DRUM, Tab::Shape);
    window.get_by_label_contains("find the pans and layers that hold it");
    press(&mut window, "Find the stack");
    assert!(window.state().requests.contains(&Request::FindStacks));
    assert_eq!(window.state().workshop.tab(), Tab::Stack);
    press(&mut window, "Hide this");
    assert!(window.query_by_label_contains("Next:").is_none());
    assert!(window.state().workshop.settings.no_guide);
    window.state_mut().workshop.show_tab(Tab::Settings);
    window.run();
    window.get_by_label("Say above each panel what comes next").click();
    window.run();
    window.get_by_label_contains("Next:");
}

#[test]
fn files_that_are_dropped_begin_or_open_a_cake() {
    let folder = tempfile::tempdir().unwrap();
    let cake = folder.path().join("drum.cake.toml");
    fs::write(&cake, DRUM).unwrap();
    let mut window = window(None, &Folders::default());
    for picture in ["front.png", "side.jpg"] {
        window.state_mut().workshop.drop_file(&folder.path().join(picture));
    }
    window.run();
    for name in ["front.png", "side.jpg"] {
        window.get_by_label(name);
    }
    window.state_mut().workshop.drop_file(Path::new("list.docx"));
    window.run();
    window.get_by_label_contains("Nothing can be made of list.docx");
    window.state_mut().workshop.drop_file(&cake);
    window.run();
    assert_eq!(window.state().text(), DRUM);
    // What is not saved is asked about before another is opened.
    window.state_mut().workshop.session_mut().unwrap().mark_edited();
    let edit =
        cakefile::edit::Edit::Set { path: cakefile::FieldPath::root().key("name"), value: "Mine".into() };
    window.state_mut().workshop.session_mut().unwrap().edit("name", &edit).unwrap();
    window.state_mut().workshop.drop_file(&cake);
    window.run();
    window.get_by_label("The cake is not saved.");
    press(&mut window, "Cancel");
    assert!(window.state().text().contains("Mine"));
}

/// What a fix does is told before it is taken, and it is what comes of taking it.
#[test]
fn what_a_fix_would_do_is_told_beside_it() {
    let mut window = window(Some(example("Toadstool house")), &Folders::default());
    window.state_mut().workshop.show_tab(Tab::ToFix);
    window.run();
    let fixes = {
        let planned = window.state().outcome.planned.as_ref().unwrap();
        planned.plan.findings.iter().filter(|finding| finding.fix.edit.is_some()).count()
    };
    if fixes == 0 {
        return;
    }
    let start = Instant::now();
    while window.query_all_by_label_contains("With it:").count() == 0
        || window.query_by_label_contains("being planned").is_some()
    {
        assert!(start.elapsed() < Duration::from_secs(60), "the fixes are never planned");
        std::thread::sleep(Duration::from_millis(20));
        window.step();
    }
}

fn card() -> formats::drawing::Page {
    scale_card::page(PaperSize::A4)
}

#[test]
fn pages_are_looked_at_one_after_the_other() {
    let folder = tempfile::tempdir().unwrap();
    let kit = folder.path().join("drum-kit");
    fs::create_dir_all(&kit).unwrap();
    let pages = kit.join("cutting sheet.pdf");
    fs::write(&pages, export::pdf::pdf("Card", &[card(), card()]).unwrap()).unwrap();
    fs::write(kit.join("notes.txt"), "one note").unwrap();
    let mut window = window_on(DRUM, Tab::Make);
    let made = Progress::Made { made: kit.clone(), said: String::new() };
    window.state_mut().progress.insert(Product::Kit.name(), made);
    window.run();
    press(&mut window, "Look at the bench kit");
    window.get_by_label("Page 1 of 2");
    window.get_by_role_and_label(egui::accesskit::Role::Image, "Page 1");
    assert!(button(&window, "Page before").accesskit_node().is_disabled());
    press(&mut window, "Next page");
    window.get_by_label("Page 2 of 2");
    window.key_press(Key::PageUp);
    window.run();
    window.get_by_label("Page 1 of 2");
    press(&mut window, "Close");
    assert!(window.query_by_label("Page 1 of 2").is_none());
    assert!(page_of(&pages, 7).is_err() && page_of(&kit.join("none.pdf"), 0).is_err());
    fs::write(kit.join("broken.pdf"), "no pages").unwrap();
    assert!(page_of(&kit.join("broken.pdf"), 0).is_err());
    let Ok(page) = page_of(&kit.join("notes.txt"), 0) else { panic!("it is text") };
    assert!(matches!(page.seen, Seen::Text(text) if text == "one note"));
}

/// Source: poppler's own drawing of the same page (`pdftoppm`), where it is there.
#[test]
fn a_page_is_drawn_as_another_reader_draws_it() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("card.pdf");
    fs::write(&file, export::pdf::pdf("Card", &[card()]).unwrap()).unwrap();
    let Ok(panels::pages::Page { seen: Seen::Picture(ours), count: 1 }) = page_of(&file, 0) else {
        panic!("one page")
    };
    let to = folder.path().join("other");
    let (width, height) = (ours.size[0].to_string(), ours.size[1].to_string());
    let args = ["-png", "-singlefile", "-scale-to-x", &width, "-scale-to-y", &height];
    let Ok(run) = std::process::Command::new("pdftoppm").args(args).arg(&file).arg(&to).status() else {
        assert!(std::env::var_os("CRUMBLINE_REQUIRE_REFERENCE").is_none(), "pdftoppm is missing");
        return;
    };
    assert!(run.success());
    let theirs = image::open(to.with_extension("png")).unwrap().to_luma8();
    let grey =
        |pixel: &egui::Color32| (u32::from(pixel.r()) + u32::from(pixel.g()) + u32::from(pixel.b())) / 3;
    let dark = ours.pixels.iter().filter(|pixel| grey(pixel) < 128).count();
    let off: u64 = ours
        .pixels
        .iter()
        .zip(theirs.pixels())
        .map(|(a, b)| u64::from(grey(a).abs_diff(u32::from(b.0[0]))))
        .sum();
    let mean = off as f64 / ours.pixels.len() as f64 / 255.0;
    assert!(dark > 1000, "there are marks on the card");
    assert!(mean < 0.01, "{mean} of full scale lies between the two on average");
}
