//! The form in which a file writes its tables.

use super::{
    find::key_count,
    layout::{NodeKind, Pair},
    view::View,
};
use crate::FieldPath;

/// How a table is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    /// Below its name in brackets.
    Header,
    /// In braces.
    Inline,
    /// By keys that name the table too.
    Dotted,
}

/// The form for a new table that is called `key` in the table at `outer`: that of the same table elsewhere in the
/// file, as of another tier; else the one that most tables beside it have.
pub(super) fn form_of(view: View, outer: &FieldPath, key: &str) -> Form {
    let found = view.layout.find(outer);
    if !outer.0.is_empty() && found.node.is_some() {
        return Form::Inline;
    }
    let names = |path: &FieldPath| View::names(path).join(".");
    let outer_names = names(outer);
    let mut same = Vec::new();
    let mut beside = Vec::new();
    // A table called `name` in a table that has the same keys in its path as `outer` is written so.
    let mut note = |outer: &str, name: &str, form: Form| {
        if outer == outer_names {
            if name == key { &mut same } else { &mut beside }.push(form);
        }
    };
    for section in &view.layout.sections {
        let own = View::names(&section.path);
        if section.header.is_some() {
            for depth in 0..own.len() {
                note(&own[..depth].join("."), own[depth], Form::Header);
            }
        }
        for pair in &section.pairs {
            note_pair(pair, &own, &mut note);
        }
    }
    let most = |forms: &[Form]| {
        let count = |form: Form| forms.iter().filter(|&&other| other == form).count();
        [Form::Header, Form::Dotted, Form::Inline]
            .into_iter()
            .filter(|&form| count(form) > 0)
            .rev()
            .max_by_key(|&form| count(form))
    };
    let by_keys_only =
        !outer.0.is_empty() && view.layout.section(outer).is_none() && !has_section(view, outer);
    match most(&same) {
        // Where no header can follow, as inside of a table of dotted keys, none is written.
        _ if by_keys_only => Form::Dotted,
        Some(form) => form,
        None if outer.0.is_empty() && beside.contains(&Form::Header) => Form::Header,
        None => most(&beside).unwrap_or(Form::Header),
    }
}

fn has_section(view: View, outer: &FieldPath) -> bool {
    view.layout.sections.iter().any(|section| section.path.starts_with(outer) && key_count(&section.path) > 0)
}

fn note_pair(pair: &Pair, table: &[&str], note: &mut impl FnMut(&str, &str, Form)) {
    let mut path: Vec<&str> = table.to_vec();
    for (number, word) in pair.words.iter().enumerate() {
        let outer = path.join(".");
        if number + 1 < pair.words.len() {
            note(&outer, &word.name, Form::Dotted);
        } else if matches!(pair.value.kind, NodeKind::Inline(_)) {
            note(&outer, &word.name, Form::Inline);
        }
        path.push(&word.name);
    }
}
