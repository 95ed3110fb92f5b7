//! Orders that cannot be, refused with their place and the fix; and nothing that a client writes is run.

use std::fs;

use assert_cmd::Command;

use crate::orders_text::CAKE;

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
    for (order, message, fix) in [
        ("deliver = \"2026-02-30 10:00\"", "not in the calendar", "check the month"),
        ("deliver = \"2026-12-05\"", "without an hour", "add the hour"),
        ("deliver = \"soon\"", "no date and time", "year, month, day and hour"),
        ("deliver = 2026-12-05T10:00:00", "a date or time", "in quotes"),
        ("travel = -5", "cannot be -5", "from 0 to 1440"),
        ("travel = 1e308", "cannot be 1e308", "from 0 to 1440"),
        ("serves = 0", "must lie between 1 and 100000", "from 1 to 100000"),
    ] {
        let told = said(&format!("[order]\n{order}\n"));
        // The order stands in the eleventh line.
        for part in ["x.cake.toml:11", message, fix] {
            assert!(told.contains(part), "{order}: {part} in {told}");
        }
    }
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
