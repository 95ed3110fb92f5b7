//! Tables of which exactly one of several keys is given: the kind of a pan, of a shape, of a tool.

use cakefile::{
    FieldPath,
    edit::{Document, Edit, EditValue},
};

use super::defaults::default_of;
use crate::{
    schema::{Kind, Schema, Table},
    words,
};

/// Keys of which exactly one is given; several that belong together count as one.
#[derive(Debug, PartialEq)]
pub struct Exclusive {
    /// What is chosen.
    pub label: &'static str,
    /// The same in a sentence.
    pub help: &'static str,
    /// The choices, each with its keys.
    pub choices: &'static [&'static [&'static str]],
}

const fn group(
    label: &'static str,
    help: &'static str,
    choices: &'static [&'static [&'static str]],
) -> Exclusive {
    Exclusive { label, help, choices }
}

/// The groups of the table of this name in the schema.
pub fn exclusive(table: &str) -> &'static [Exclusive] {
    const SHAPE: &[Exclusive] = &[group(
        "Kind of shape",
        "How the outside of the cake is given.",
        &[&["turned"], &["crossed"], &["sections"], &["scanned"]],
    )];
    const PAN: &[Exclusive] = &[group(
        "Kind of pan",
        "What is baked in.",
        &[&["round"], &["square"], &["rectangle"], &["half_ball"]],
    )];
    const BOARD: &[Exclusive] =
        &[group("Kind of board", "The outline of the board.", &[&["round"], &["square"], &["rectangle"]])];
    const SECTION: &[Exclusive] = &[group(
        "At this height",
        "An outline, or the point that the shape ends in.",
        &[&["outline"], &["tip"]],
    )];
    const OUTLINE: &[Exclusive] = &[group(
        "Outline from",
        "How the outline is given.",
        &[
            &["points"],
            &["from", "draw"],
            &["svg"],
            &["picture"],
            &["circle"],
            &["rectangle"],
            &["ellipse"],
            &["text"],
        ],
    )];
    const DETAIL: &[Exclusive] = &[
        group("Cut or add", "Whether something is taken away or put on.", &[&["cut"], &["add"]]),
        group(
            "Made with",
            "The form that is cut or added.",
            &[
                &["outline"],
                &["bar"],
                &["roll"],
                &["ball"],
                &["cylinder"],
                &["box"],
                &["ring"],
                &["half_space"],
            ],
        ),
    ];
    const ALONG: &[Exclusive] = &[group(
        "Laid along",
        "The edge or the line that it follows.",
        &[&["foot"], &["rim"], &["height"], &["zone"], &["path"]],
    )];
    const ON_SURFACE: &[Exclusive] = &[group(
        "Where it lies",
        "On the side, on the top, or where the drawing of the shape has it.",
        &[&["height"], &["top"], &["as_drawn"]],
    )];
    const ZONE: &[Exclusive] = &[group(
        "Which part",
        "The part of the covering that is another colour or material.",
        &[&["between"], &["top"], &["side"], &["outline"]],
    )];
    const ZONE_OUTLINE: &[Exclusive] =
        &[group("Where it lies", "On the side or on the top.", &[&["height"], &["top"]])];
    const DOWELS: &[Exclusive] =
        &[group("Where they stand", "On a circle, or each at its place.", &[&["count", "circle"], &["at"]])];
    match table {
        "Shape" => SHAPE,
        "Pan" | "OwnedPan" => PAN,
        "Board" => BOARD,
        "SectionAt" => SECTION,
        "Outline" => OUTLINE,
        "Detail" => DETAIL,
        "OutlineTool" => ON_SURFACE,
        "RollAlong" => ALONG,
        "Zone" => ZONE,
        "ZoneOutline" => ZONE_OUTLINE,
        "Dowels" => DOWELS,
        _ => &[],
    }
}

impl Exclusive {
    /// Whether this key is one of those.
    pub fn holds(&self, key: &str) -> bool {
        self.choices.iter().any(|keys| keys.contains(&key))
    }

    /// What a choice is called.
    pub fn name(&self, choice: usize) -> String {
        match self.choices[choice] {
            ["points"] => "corners joined by straight lines".into(),
            ["from", "draw"] => "lines, arcs and curves".into(),
            ["svg"] => "a drawing (SVG)".into(),
            ["picture"] => "a picture".into(),
            ["text"] => "words".into(),
            ["turned"] => "turned: a half outline".into(),
            ["crossed"] => "a front and a side".into(),
            ["sections"] => "outlines from above".into(),
            ["scanned"] => "a model".into(),
            ["between"] => "between two heights".into(),
            ["height"] => "on the side".into(),
            ["top"] => "on the top".into(),
            ["as_drawn"] => "as it is drawn".into(),
            ["count", "circle"] => "on a circle".into(),
            ["at"] => "each at its place".into(),
            ["half_space"] => "a plane".into(),
            ["foot"] => "the foot".into(),
            ["rim"] => "the upper edge".into(),
            ["zone"] => "the border of a zone".into(),
            ["path"] => "a line on the side".into(),
            keys => words::label(keys[0]).to_lowercase(),
        }
    }

    /// What a choice means.
    pub fn help_of(&self, choice: usize, table: &Table) -> String {
        let key = self.choices[choice].last().unwrap_or(&"");
        table
            .entries
            .iter()
            .find(|entry| entry.key == *key)
            .map_or_else(String::new, |entry| entry.help.clone())
    }

    /// Which choice is given in the table at `path`: the first of which a key is there.
    pub fn given(&self, document: &Document, path: &FieldPath) -> Option<usize> {
        let is_there = |keys: &&[&str]| keys.iter().any(|key| document.value(&path.key(key)).is_some());
        self.choices.iter().position(is_there)
    }

    /// The edit that gives another choice instead. A size stays where both are one.
    pub fn switched(
        &self,
        document: &Document,
        path: &FieldPath,
        table: &Table,
        schema: &Schema,
        from: Option<usize>,
        to: usize,
    ) -> Edit {
        let kind = |key: &str| table.entries.iter().find(|entry| entry.key == key).map(|entry| &entry.kind);
        let mut edits = Vec::new();
        let mut kept: Option<(EditValue, &Kind)> = None;
        for key in from.map_or(&[][..], |from| self.choices[from]) {
            let at = path.key(key);
            if let Some(value) = document.value(&at) {
                kept = kind(key).map(|kind| (value.clone(), kind));
                edits.push(Edit::Remove { path: at });
            }
        }
        for key in self.choices[to] {
            let Some(kind) = kind(key) else { continue };
            let value = match &kept {
                Some((value, old)) if *old == kind => value.clone(),
                Some((value, Kind::Scalar(_))) if matches!(kind, Kind::Row(_, 2)) => {
                    EditValue::Array(vec![value.clone(), value.clone()])
                }
                Some((EditValue::Array(sides), Kind::Row(one, 2))) if **one == *kind && !sides.is_empty() => {
                    sides[0].clone()
                }
                _ => default_of(kind, key, schema, document),
            };
            edits.push(Edit::Insert { path: path.key(key), value });
        }
        Edit::Many(edits)
    }
}
