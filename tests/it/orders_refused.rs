//! Orders and prices that cannot be, refused with their place and the fix; and nothing that a client writes is run.

use std::fs;

use assert_cmd::Command;
use crumbline::{
    amounts::Amounts,
    cakefile::CakeFile,
    pantry::{Pantry, Price},
    plan::Plan,
    quote::{Quote, QuoteError, Sum},
};

const CAKE: &str = "crumbline = 1\nname = \"x\"\n[shape.turned]\npoints = [[60, 0], [60, 40]]\n[[tier]]\nname = \"one\"\n\
                    [[tier.layer]]\npan = { round = \"6 in\" }\nheight = 40\n";

/// What the command says of a cake file that ends in `more`.
fn said(more: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    let cake = folder.path().join("x.cake.toml");
    fs::write(&cake, format!("{CAKE}{more}")).unwrap();
    let output = Command::cargo_bin("crumbline").unwrap().arg("timetable").arg(&cake).output().unwrap();
    assert_ne!(output.status.code(), Some(0), "{more}");
    String::from_utf8(output.stderr).unwrap()
}

#[test]
fn an_order_that_cannot_be_is_refused_where_it_is_written() {
    for (order, message, mend) in [
        ("deliver = \"2026-02-30 10:00\"", "not in the calendar", "check the month"),
        ("deliver = \"2026-12-05\"", "without an hour", "add the hour"),
        ("deliver = \"soon\"", "no date and time", "year, month, day and hour"),
        ("deliver = 2026-12-05T10:00:00", "a date or time", "in quotes"),
        ("travel = -5", "cannot be -5", "from 0 to 1440"),
        ("travel = 1e308", "cannot be 1e308", "from 0 to 1440"),
        ("serves = 0", "must lie between 1 and 100000", ""),
    ] {
        let told = said(&format!("[order]\n{order}\n"));
        // The order stands in the eleventh line.
        for part in ["x.cake.toml:11", message, mend] {
            assert!(told.contains(part), "{order}: {part} in {told}");
        }
    }
}

#[test]
fn prices_that_cannot_be_are_refused_where_they_are_written() {
    for (price, message) in [
        ("[pantry.goods.sugar]\nprice = -1.5\n", "cannot be -1.5"),
        ("[pantry.goods.sugar]\nprice = 1e308\n", "cannot be 1e308"),
        ("[pantry.money]\nhour = nan\n", "not a finite number"),
        ("[pantry.money]\nroad = inf\n", "not a finite number"),
        ("[pantry.money]\nmargin = 1e300\n", "cannot be 1e300"),
        ("[pantry.goods.sugar]\npack = 1e-300\n", "cannot be 1e-300"),
        ("[[pantry.dowel]]\nprice = -1\nlength = 300\ndiameter = 6\n", "cannot be -1"),
        ("[[pantry.board]]\nprice = -1\nthickness = 4\n", "cannot be -1"),
    ] {
        let file = CakeFile::from_text("mine.toml", "", format!("crumbline = 1\n{price}"));
        let told = Pantry::usual().with_file(&file).unwrap_err().render(false);
        for part in ["mine.toml:3", message] {
            assert!(told.contains(part), "{price}: {part} in {told}");
        }
    }
}

fn planned() -> Plan {
    crate::planned(&CakeFile::from_text("x.cake.toml", "", CAKE)).unwrap()
}

/// The dearest prices that are read still add up, or are refused; none wraps round.
#[test]
fn sums_beyond_all_figures_are_refused() {
    let plan = planned();
    let dear = |number: f64| {
        let mut pantry = Pantry::clone(&plan.pantry);
        (pantry.money.hour, pantry.money.decimals) = (Price::new(1e9).unwrap(), 4);
        (pantry.money.margin, pantry.work.each_cake) = (100.0, number);
        let plan = Plan { pantry: pantry.into(), ..plan.clone() };
        Quote::new(&plan, &Amounts::new(&plan), 0.0)
    };
    let quote = dear(6e4).unwrap();
    assert!(quote.costs > 0 && quote.gross > quote.costs, "{quote:?}");
    assert_eq!(dear(6e6).unwrap_err(), QuoteError::SumTooLarge(Sum::Margin));
    assert!(matches!(dear(1e300).unwrap_err(), QuoteError::LineTooLarge(_)));
}

#[test]
fn what_a_client_writes_is_not_run_by_a_spreadsheet() {
    let folder = tempfile::tempdir().unwrap();
    let order = "[order]\nclient = \"=cmd|' /C calc'!A0\"\n";
    fs::write(folder.path().join("a.cake.toml"), CAKE.replace("name = \"x\"", "name = \"@x\"") + order)
        .unwrap();
    let out = folder.path().join("out");
    let mut command = Command::cargo_bin("crumbline").unwrap();
    command.args(["batch", "--out"]).arg(&out).arg(folder.path()).assert().success();
    let text = fs::read_to_string(out.join("orders.csv")).unwrap();
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let row = reader.records().next().unwrap().unwrap();
    assert_eq!((&row[1], &row[2]), ("'@x", "'=cmd|' /C calc'!A0"), "{text}");
}
