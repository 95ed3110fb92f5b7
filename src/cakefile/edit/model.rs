//! What an edit makes of the value of a file, whatever its text: what the new text is checked against.
//!
//! Each function changes the value of a whole file, or gives `None` where there is no such place.

use super::{EditValue, find::split, value::Fields};
use crate::{FieldPath, Step};

pub(super) fn set(whole: &mut EditValue, path: &FieldPath, value: &EditValue) -> Option<()> {
    let (outer, last) = split(path)?;
    match (holder(whole, &outer)?, last) {
        (EditValue::Array(values), Step::Index(index)) => *values.get_mut(*index)? = value.clone(),
        (table, Step::Key(key)) => {
            let fields = fields_mut(table)?;
            match fields.iter_mut().find(|(name, _)| name == key) {
                Some((_, old)) => *old = value.clone(),
                None => fields.push((key.clone(), value.clone())),
            }
        }
        _ => return None,
    }
    Some(())
}

pub(super) fn insert(whole: &mut EditValue, path: &FieldPath, value: &EditValue) -> Option<()> {
    let (outer, last) = split(path)?;
    match last {
        Step::Key(_) => set(whole, path, value),
        Step::Index(0) if whole.get(&outer).is_none() => {
            set(whole, &outer, &EditValue::Array(vec![value.clone()]))
        }
        Step::Index(index) => match holder(whole, &outer)? {
            EditValue::Array(values) if *index <= values.len() => {
                values.insert(*index, value.clone());
                Some(())
            }
            _ => None,
        },
    }
}

pub(super) fn remove(whole: &mut EditValue, path: &FieldPath) -> Option<()> {
    let (outer, last) = split(path)?;
    match (holder(whole, &outer)?, last) {
        (EditValue::Array(values), Step::Index(index)) if *index < values.len() => {
            values.remove(*index);
        }
        (table, Step::Key(key)) => fields_mut(table)?.retain(|(name, _)| name != key),
        _ => return None,
    }
    Some(())
}

pub(super) fn reorder(whole: &mut EditValue, from: &FieldPath, to: &FieldPath) -> Option<()> {
    let (outer, last) = split(from)?;
    match (holder(whole, &outer)?, last, to.0.last()?) {
        (EditValue::Array(values), Step::Index(from), Step::Index(to))
            if *from < values.len() && *to < values.len() =>
        {
            let moved = values.remove(*from);
            values.insert(*to, moved);
        }
        (table, Step::Key(from), Step::Key(to)) => {
            fields_mut(table)?
                .iter_mut()
                .filter(|(name, _)| name == from)
                .for_each(|(name, _)| name.clone_from(to));
        }
        _ => return None,
    }
    Some(())
}

/// The table or list at `path`; tables that are not there are made.
fn holder<'v>(whole: &'v mut EditValue, path: &FieldPath) -> Option<&'v mut EditValue> {
    path.0.iter().try_fold(whole, |value, step| match (value, step) {
        (EditValue::Array(values), Step::Index(index)) => values.get_mut(*index),
        (table, Step::Key(key)) => {
            let fields = fields_mut(table)?;
            let number = fields.iter().position(|(name, _)| name == key).unwrap_or_else(|| {
                fields.push((key.clone(), EditValue::Table(Vec::new())));
                fields.len() - 1
            });
            fields.get_mut(number).map(|(_, value)| value)
        }
        _ => None,
    })
}

fn fields_mut(value: &mut EditValue) -> Option<&mut Fields> {
    match value {
        EditValue::InlineTable(fields) | EditValue::Table(fields) => Some(fields),
        _ => None,
    }
}
