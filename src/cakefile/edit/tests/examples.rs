//! What edits look like in a file.

use super::{edited, insert, moved, remove, set};
use crate::edit::{Document, Edit, EditValue};

fn tbl(fields: &[(&str, EditValue)]) -> EditValue {
    EditValue::table(fields.iter().cloned())
}

const TIERS: &str = "crumbline = 1   # format\nname = \"x\"\n\n# The stack, bottom up\n[[tier]]\nname = \"low\"\n\n[[tier.layer]]\nheight = 40   # thick\n\n[[tier.layer]]\nheight = 44\n\n# on a board\n[[tier]]\nname = \"high\"\nboard = { round = 20, hole = 1 }   # drum\n\n[tier.filling]\nmaterial = \"jam\"\n\n[[tier.layer]]\nheight = 30\n\n# the end\n";

#[test]
fn values_are_set_in_place() {
    assert_eq!(edited(TIERS, &set("tier[0].layer[0].height", 41)), TIERS.replace("40   #", "41   #"));
    assert_eq!(
        edited(TIERS, &set("tier[1].board.hole", "1/4 in")),
        TIERS.replace("hole = 1 }", "hole = \"1/4 in\" }")
    );
    assert_eq!(edited(TIERS, &set("tier[0].layer[0].height", 40)), TIERS);
}

#[test]
fn new_keys_go_behind_the_last_one_of_their_table() {
    assert_eq!(edited(TIERS, &set("unit", "cm")), TIERS.replace("\"x\"\n", "\"x\"\nunit = \"cm\"\n"));
    assert_eq!(
        edited(TIERS, &set("tier[0].layer[0].pan", 3)),
        TIERS.replace("# thick\n", "# thick\npan = 3\n")
    );
    assert_eq!(
        edited(TIERS, &set("tier[1].board.thickness", 3)),
        TIERS.replace("hole = 1 }", "hole = 1, thickness = 3 }")
    );
    assert_eq!(edited("[a]  # why\n[b]\n", &set("a.x", 1)), "[a]  # why\nx = 1\n[b]\n");
    assert_eq!(edited("a = {}", &set("a.x", 1)), "a = { x = 1 }");
    assert_eq!(edited("# top\n\n[a]\n", &set("x", 1)), "# top\n\nx = 1\n\n[a]\n");
    assert_eq!(edited("# of a\n[a]\n", &set("x", 1)), "x = 1\n\n# of a\n[a]\n");
    assert_eq!(edited("", &set("x", 1)), "x = 1\n");
    assert_eq!(edited("y = 2", &set("x", 1)), "y = 2\nx = 1\n");
}

#[test]
fn tables_that_are_not_there_are_made_as_the_file_makes_them() {
    // As the other tier does.
    assert_eq!(
        edited(TIERS, &set("tier[0].filling.material", "jam")),
        TIERS.replace("height = 44\n", "height = 44\n\n[tier.filling]\nmaterial = \"jam\"\n")
    );
    assert_eq!(
        edited(TIERS, &set("tier[0].board.round", 9)),
        TIERS.replace("\"low\"\n", "\"low\"\nboard = { round = 9 }\n")
    );
    assert_eq!(edited(TIERS, &set("limits.spare", 2)), format!("{TIERS}\n[limits]\nspare = 2\n"));
    assert_eq!(
        edited("shape.turned.from = [1, 2]\n", &set("limits.spare", 2)),
        "shape.turned.from = [1, 2]\nlimits.spare = 2\n"
    );
    assert_eq!(
        edited("[shape.turned]\nfrom = [1, 2]\n", &set("shape.crossed.front.circle", 2)),
        "[shape.turned]\nfrom = [1, 2]\n\n[shape.crossed.front]\ncircle = 2\n"
    );
    assert_eq!(
        edited("# the outside\n[shape.turned]\nfrom = 1\n", &set("shape.note", "x")),
        "[shape]\nnote = \"x\"\n\n# the outside\n[shape.turned]\nfrom = 1\n"
    );
}

#[test]
fn dotted_keys_grow_and_go() {
    let text = "name = 1\nshape.turned.from = [1, 2]   # foot\n\n[board]\nround = 1\n";
    assert_eq!(
        edited(text, &set("shape.turned.draw", EditValue::Array(vec![]))),
        text.replace("# foot\n", "# foot\nshape.turned.draw = []\n")
    );
    assert_eq!(edited(text, &remove("shape")), text.replace("shape.turned.from = [1, 2]   #", "#"));
    assert_eq!(edited(text, &moved("shape.turned", "shape.crossed")), text.replace("turned", "crossed"));
    assert_eq!(
        edited(text, &set("shape.turned", tbl(&[("a", 1.into()), ("b", 2.into())]))),
        text.replace("turned.from = [1, 2]   # foot\n", "turned.a = 1   # foot\nshape.turned.b = 2\n")
    );
    let braces = "a = { b.c = 1, b.d = 2, e = 3 }\n";
    assert_eq!(edited(braces, &set("a.b.x", 4)), "a = { b.c = 1, b.d = 2, b.x = 4, e = 3 }\n");
    assert_eq!(edited(braces, &remove("a.b")), "a = { e = 3 }\n");
    assert_eq!(edited(braces, &remove("a.e")), "a = { b.c = 1, b.d = 2 }\n");
    assert_eq!(edited(braces, &moved("a.b", "a.f g")), "a = { \"f g\".c = 1, \"f g\".d = 2, e = 3 }\n");
}

#[test]
fn what_is_taken_out_leaves_the_comments_beside_it() {
    assert_eq!(edited(TIERS, &remove("crumbline")), TIERS.replace("crumbline = 1   # format", "# format"));
    assert_eq!(edited(TIERS, &remove("name")), TIERS.replace("name = \"x\"\n", ""));
    assert_eq!(
        edited(TIERS, &remove("tier[0].layer[0]")),
        TIERS.replace("[[tier.layer]]\nheight = 40   # thick\n\n", "")
    );
    assert_eq!(
        edited(TIERS, &remove("tier[1]")),
        format!("{}# the end\n", &TIERS[..TIERS.find("[[tier]]\nname = \"high\"").unwrap()])
    );
    assert_eq!(edited("a = 1\n\n[b]\nc = 1\n", &remove("b")), "a = 1\n");
    assert_eq!(edited("a = 1\n\n[b]\nc = 1\n", &remove("b.c")), "a = 1\n\n[b]\n");
    // A table that only other headers named goes with the last of them.
    assert_eq!(edited("a = 1\n\n[b.c]\nd = 1\n", &remove("b.c")), "a = 1\n");
}

#[test]
fn tables_out_of_order_are_found_as_a_whole() {
    let text = "[a]\nx = 1\n\n[b]\ny = 2\n\n# more of a\n[a.c]\nz = 3\n";
    assert_eq!(edited(text, &remove("a")), "[b]\ny = 2\n\n# more of a\n");
    assert_eq!(edited(text, &moved("a", "q")), text.replace("[a", "[q"));
    assert_eq!(edited(text, &set("a", tbl(&[("n", 1.into())]))), "[a]\nn = 1\n\n[b]\ny = 2\n\n# more of a\n");
    assert_eq!(edited(text, &set("a", 5)), "a = 5\n\n[b]\ny = 2\n\n# more of a\n");
}

#[test]
fn lists_in_one_line() {
    let text = "a = [1, 2, 3]\n";
    assert_eq!(edited(text, &remove("a[0]")), "a = [2, 3]\n");
    assert_eq!(edited(text, &remove("a[2]")), "a = [1, 2]\n");
    assert_eq!(edited(text, &insert("a[0]", 9)), "a = [9, 1, 2, 3]\n");
    assert_eq!(edited(text, &insert("a[1]", 9)), "a = [1, 9, 2, 3]\n");
    assert_eq!(edited(text, &insert("a[3]", 9)), "a = [1, 2, 3, 9]\n");
    assert_eq!(edited(text, &moved("a[0]", "a[2]")), "a = [2, 3, 1]\n");
    assert_eq!(edited(text, &moved("a[2]", "a[0]")), "a = [3, 1, 2]\n");
    assert_eq!(edited("a = []\n", &insert("a[0]", 9)), "a = [9]\n");
    assert_eq!(
        edited("tier = [{ a = 1 }, { a = 2 }]\n", &set("tier[1].b", 3)),
        "tier = [{ a = 1 }, { a = 2, b = 3 }]\n"
    );
    assert_eq!(
        edited("tier = [{ a = 1 }]\n", &insert("tier[1]", tbl(&[("a", 2.into())]))),
        "tier = [{ a = 1 }, { a = 2 }]\n"
    );
}

#[test]
fn lists_of_a_line_each() {
    let text = "draw = [\n    { to = [60, 52] },   # swelling\n    # the stalk\n    { to = [56, 1] },\n    { to = [0, 9] }      # cap\n]\n";
    let new = || EditValue::inline([("to", EditValue::from(vec![1, 2]))]);
    assert_eq!(
        edited(text, &insert("draw[1]", new())),
        text.replace("# swelling\n", "# swelling\n    { to = [1, 2] },\n")
    );
    assert_eq!(
        edited(text, &insert("draw[0]", new())),
        text.replace("draw = [\n", "draw = [\n    { to = [1, 2] },\n")
    );
    assert_eq!(
        edited(text, &insert("draw[3]", new())),
        text.replace("9] }      # cap\n", "9] },      # cap\n    { to = [1, 2] }\n")
    );
    assert_eq!(edited(text, &remove("draw[0]")), text.replace("{ to = [60, 52] },   # sw", "# sw"));
    assert_eq!(edited(text, &remove("draw[1]")), text.replace("    { to = [56, 1] },\n", ""));
    assert_eq!(
        edited(text, &moved("draw[1]", "draw[0]")),
        "draw = [\n    # the stalk\n    { to = [56, 1] },\n    { to = [60, 52] },   # swelling\n    { to = [0, 9] }      # cap\n]\n"
    );
    assert_eq!(
        edited(text, &moved("draw[2]", "draw[0]")),
        "draw = [\n    { to = [0, 9] },      # cap\n    { to = [60, 52] },   # swelling\n    # the stalk\n    { to = [56, 1] },\n]\n"
    );
}

#[test]
fn elements_of_arrays_of_tables_move_with_their_comments() {
    let swapped = "crumbline = 1   # format\nname = \"x\"\n\n# The stack, bottom up\n\n# on a board\n[[tier]]\nname = \"high\"\nboard = { round = 20, hole = 1 }   # drum\n\n[tier.filling]\nmaterial = \"jam\"\n\n[[tier.layer]]\nheight = 30\n\n[[tier]]\nname = \"low\"\n\n[[tier.layer]]\nheight = 40   # thick\n\n[[tier.layer]]\nheight = 44\n\n# the end\n";
    assert_eq!(edited(TIERS, &moved("tier[1]", "tier[0]")), swapped);
    // The two comments are one above the other now, apart.
    assert_eq!(
        edited(TIERS, &moved("tier[0]", "tier[1]")),
        swapped.replace("bottom up\n\n#", "bottom up\n#")
    );
    assert_eq!(
        edited(TIERS, &moved("tier[0].layer[1]", "tier[0].layer[0]")),
        TIERS.replace(
            "[[tier.layer]]\nheight = 40   # thick\n\n[[tier.layer]]\nheight = 44\n",
            "[[tier.layer]]\nheight = 44\n\n[[tier.layer]]\nheight = 40   # thick\n"
        )
    );
}

#[test]
fn elements_are_put_into_arrays_of_tables() {
    let layer = || tbl(&[("height", 50.into())]);
    assert_eq!(
        edited(TIERS, &insert("tier[0].layer[2]", layer())),
        TIERS.replace("height = 44\n", "height = 44\n\n[[tier.layer]]\nheight = 50\n")
    );
    assert_eq!(
        edited(TIERS, &insert("tier[1]", tbl(&[("name", "mid".into())]))),
        TIERS.replace("# on a board\n", "[[tier]]\nname = \"mid\"\n\n# on a board\n")
    );
    assert_eq!(
        edited(TIERS, &insert("tier[0]", tbl(&[("name", "foot".into())]))),
        TIERS.replace("bottom up\n", "bottom up\n[[tier]]\nname = \"foot\"\n\n")
    );
    assert_eq!(
        edited("a = 1\n", &insert("detail[0]", tbl(&[("cut", "icing".into())]))),
        "a = 1\n\n[[detail]]\ncut = \"icing\"\n"
    );
    assert_eq!(edited("a = 1\n", &insert("marks[0]", 3)), "a = 1\nmarks = [3]\n");
    let whole = tbl(&[("name", "new".into()), ("layer", EditValue::Array(vec![layer(), layer()]))]);
    assert_eq!(
        edited(TIERS, &set("tier", EditValue::Array(vec![whole]))),
        "crumbline = 1   # format\nname = \"x\"\n\n# The stack, bottom up\n[[tier]]\nname = \"new\"\n\n[[tier.layer]]\nheight = 50\n\n[[tier.layer]]\nheight = 50\n\n# the end\n"
    );
}

#[test]
fn files_without_empty_lines_get_none() {
    assert_eq!(edited("[a]\nx = 1\n[b]\ny = 1\n", &set("c.z", 1)), "[a]\nx = 1\n[b]\ny = 1\n[c]\nz = 1\n");
}

#[test]
fn long_lists_go_over_several_lines() {
    let points: Vec<EditValue> = (0..20).map(|n| EditValue::from(vec![n, 1000 + n])).collect();
    let text = edited("[shape]\nname = 1\n", &set("shape.points", EditValue::Array(points)));
    assert!(text.starts_with("[shape]\nname = 1\npoints = [\n    [0, 1000],\n    [1, 1001],\n"), "{text}");
}

#[test]
fn text_for_text() {
    let document = Document::from_text("x", "name = \"Törtchen\"\nnot toml");
    let edit = Edit::of_text(&document, "name = \"Törtle\"\n");
    let applied = document.apply(&edit).unwrap();
    assert_eq!(applied.document.text(), "name = \"Törtle\"\n");
    assert_eq!(applied.document.apply(&applied.inverse).unwrap().document.text(), document.text());
}
