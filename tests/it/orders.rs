//! Quote and batch by command.

use std::fs;

use assert_cmd::Command;

use crate::{
    orders_text::{CAKE, PRICES},
    plans::example,
};

#[test]
fn the_clients_page_holds_none_of_the_costs() {
    let folder = tempfile::tempdir().unwrap();
    let pantry = folder.path().join("prices.toml");
    fs::write(&pantry, PRICES).unwrap();
    let cake = "assets/examples/toadstool-house/toadstool-house.cake.toml";
    Command::cargo_bin("crumbline")
        .unwrap()
        .args(["quote", cake, "--pantry"])
        .arg(&pantry)
        .arg("--out")
        .arg(folder.path().join("out"))
        .args(["--incomplete", "--today", "2026-11-20 08:00"])
        .assert()
        .success();
    // In the order that they are written, with single spaces: beside a picture the lines break elsewhere, and the mark
    // that lies across an incomplete page would stand between them.
    let words = |name: &str| {
        let file = folder.path().join("out").join(name);
        let output = std::process::Command::new("pdftotext").args(["-raw"]).arg(&file).arg("-").output();
        let output = output.ok().filter(|output| output.status.success())?;
        let text = String::from_utf8_lossy(&output.stdout).into_owned();
        Some(text.split_whitespace().collect::<Vec<_>>().join(" "))
    };
    let Some(client) = words("toadstool-house-quote.pdf") else {
        println!("skipped: no pdftotext (poppler-utils)");
        return;
    };
    for part in [
        "20 November 2026; valid until 4 December 2026",
        "The price follows.",
        "milk",
        "Serves",
        "Hidden in the cake",
        "Take out every board, dowel, stick and wire",
    ] {
        assert!(client.contains(part), "{part} in {client}");
    }
    let json = fs::read_to_string(folder.path().join("out/toadstool-house-bench-costs.json")).unwrap();
    let quote: serde_json::Value = serde_json::from_str(&json).unwrap();
    // Every board and dowel of the plan is on the page, with its count and its place.
    let listed = quote["hidden"].as_array().unwrap();
    let count = |hidden: &serde_json::Value| hidden["count"].as_u64().unwrap();
    assert_eq!(
        listed.iter().map(count).sum::<u64>() as usize,
        example("toadstool-house").stack.dowels.len() + 1
    );
    for hidden in listed {
        let (what, place) = (hidden["what"].as_str().unwrap(), hidden["place"].as_str().unwrap());
        let row = format!("{} × {what}, {place}", count(hidden));
        assert!(client.contains(&row), "{row} in {client}");
    }
    for part in ["margin", "Margin", "overhead", "carving", "powdered sugar", "Work"] {
        assert!(!client.contains(part), "{part} in {client}");
    }
    let bench = words("toadstool-house-bench-costs.pdf").unwrap();
    for part in ["To fix before a price is told", "carving", "powdered sugar", "Overhead"] {
        assert!(bench.contains(part), "{part} in {bench}");
    }
}

/// While a point of the order check is open, no quote is written unless it is asked for.
#[test]
fn a_quote_with_open_points_is_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let cake = folder.path().join("x.cake.toml");
    fs::write(&cake, format!("{CAKE}[order]\nserves = 300\n")).unwrap();
    let out = folder.path().join("out");
    let run = |more: &[&str]| {
        Command::cargo_bin("crumbline")
            .unwrap()
            .arg("quote")
            .arg(&cake)
            .arg("--out")
            .arg(&out)
            .args(more)
            .output()
            .unwrap()
    };
    let refused = run(&[]);
    assert_eq!(refused.status.code(), Some(2));
    let told = String::from_utf8(refused.stderr).unwrap();
    for part in ["no quote is written", "--incomplete"] {
        assert!(told.contains(part), "{part} in {told}");
    }
    let said = String::from_utf8(refused.stdout).unwrap();
    for part in ["Order check: 3 points", "300 servings are wanted", "nothing has a price yet"] {
        assert!(said.contains(part), "{part} in {said}");
    }
    assert!(!out.exists());
    assert_eq!(run(&["--incomplete"]).status.code(), Some(0));
    assert_eq!(fs::read_dir(&out).unwrap().count(), 4);
    // The plan says the same on top, for people and for programs, and its exit code stays that of the plan.
    let plan = |json: &[&str]| {
        let output =
            Command::cargo_bin("crumbline").unwrap().arg("plan").arg(&cake).args(json).output().unwrap();
        assert_eq!(output.status.code(), Some(0));
        String::from_utf8(output.stdout).unwrap()
    };
    let words = plan(&[]);
    for part in [
        "Decide   1. Nobody has said which allergens are in",
        "2. 300 servings are wanted",
        "3. Nothing has a price yet",
    ] {
        assert!(words.contains(part), "{part} in {words}");
    }
    let report: serde_json::Value = serde_json::from_str(&plan(&["--json"])).unwrap();
    let open = report["order_check"]["open"].as_array().unwrap();
    let concerns: Vec<_> = open.iter().map(|point| point["concern"].as_str().unwrap()).collect();
    assert_eq!(concerns, ["undeclared-allergens", "servings", "price"]);
}

#[test]
fn one_wrong_order_does_not_stop_the_others() {
    let folder = tempfile::tempdir().unwrap();
    let good = |name: &str, height: u32| {
        format!(
            "crumbline = 1\nname = \"{name}\"\n[shape.turned]\npoints = [[80, 0], [70, {height}]]\n[[covering]]\n\
             material = \"ganache\"\nthickness = 5\n[order]\nserves = 20\n"
        )
    };
    fs::write(folder.path().join("a.cake.toml"), good("first", 90)).unwrap();
    fs::write(folder.path().join("b.cake.toml"), "crumbline = 1\nname = 3\n").unwrap();
    fs::write(folder.path().join("c.cake.toml"), good("third", 100)).unwrap();
    fs::write(folder.path().join("notes.txt"), "no order").unwrap();
    let output = Command::cargo_bin("crumbline")
        .unwrap()
        .args(["batch", "--json", "--out"])
        .arg(folder.path().join("out"))
        .arg(folder.path())
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    let batch: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let (rows, failed) = (batch["rows"].as_array().unwrap(), batch["failed"].as_array().unwrap());
    assert_eq!((rows.len(), failed.len()), (2, 1), "{batch}");
    let alone: u64 = rows.iter().map(|row| row["loads"].as_u64().unwrap()).sum();
    assert!(batch["loads"].as_u64().unwrap() <= alone);
    let orders = fs::read_to_string(folder.path().join("out/orders.csv")).unwrap();
    let mut reader = csv::Reader::from_reader(orders.as_bytes());
    assert_eq!(reader.records().filter(Result::is_ok).count(), 3);
}
