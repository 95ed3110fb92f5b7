//! Checks a parsed TOML tree against the rules, reports everything that is wrong, and prunes it.
//!
//! Pruning keeps the rest usable, so that what comes later can find its own problems in the same run.
//! What is wrong goes together with whatever cannot do without it: up to the nearest key that may be
//! left out. A list goes as a whole, never one entry of it, since the paths of the other entries would
//! change.

use std::{collections::BTreeMap, ops::Range};

use toml::{
    Spanned,
    de::{DeArray, DeTable, DeValue},
};

use super::{
    Diagnostic, FieldPath, Step,
    choice::{in_backticks, listed},
    diagnostic::KeyProblem,
    glossary,
    kind::FileKind,
    nearest::nearest,
    rule::{Field, Rule, RuleBook},
    scalar,
};
use geom::units::Unit;

/// More problems than this are of no use to anybody.
const MOST_PROBLEMS: usize = 1000;

/// Walks the tree. Read `problems` and `pruned` once done.
pub(super) struct Checker {
    book: &'static RuleBook,
    /// What such a file is called.
    kind: &'static str,
    unit: Unit,
    /// Whether parts of the text could not be read, so that what seems to be missing may be there.
    damaged: bool,
    /// What is wrong, in no order.
    pub problems: Vec<Diagnostic>,
    /// The values that were taken out of the tree.
    pub pruned: Vec<FieldPath>,
}

impl Checker {
    pub fn new<D: FileKind>(unit: Unit, damaged: bool) -> Self {
        let (book, kind) = (D::rules(), D::KIND);
        Self { book, kind, unit, damaged, problems: Vec::new(), pruned: Vec::new() }
    }

    /// Checks the whole file. Only required keys at the top may be missing from `top` afterwards.
    pub fn check_top(&mut self, top: &mut DeTable) {
        self.check_fields(self.book.top(), top, 0..0, &Place::Top);
    }

    /// Whether `value` can be kept.
    fn check(&mut self, rule: &'static Rule, value: &mut Spanned<DeValue>, place: &Place) -> bool {
        let span = value.span();
        if self.damaged && span.is_empty() {
            // Where the parser could not read a value, it leaves one that is nowhere in the text.
            return false;
        }
        match (self.book.follow(rule), value.get_mut()) {
            (Rule::Table(fields), DeValue::Table(table)) => self.check_fields(fields, table, span, place),
            (Rule::Map(each), DeValue::Table(table)) => self.check_map(each, table, place),
            (Rule::List { each, least, most }, DeValue::Array(array)) => {
                self.check_length(array.len(), *least..=*most, span, place)
                    & self.check_entries(each, array, place)
            }
            (rule, value) => match scalar::check(rule, value, self.unit) {
                Ok(()) => true,
                Err(mut problem) => {
                    problem.path = place.path();
                    self.report(problem.at(span));
                    false
                }
            },
        }
    }

    fn check_fields(
        &mut self,
        fields: &'static BTreeMap<String, Field>,
        table: &mut DeTable,
        span: Range<usize>,
        place: &Place,
    ) -> bool {
        self.drop_unknown_keys(fields, table, place);
        let mut whole = true;
        for (key, field) in fields {
            let kept = match table.get_mut(key.as_str()) {
                Some(value) => {
                    let place = place.key(key);
                    let kept = self.check(&field.rule, value, &place);
                    if !kept {
                        self.prune(table, key, &place);
                    }
                    kept
                }
                None => {
                    if field.required {
                        self.report_missing(key, &field.rule, span.clone(), place);
                    }
                    false
                }
            };
            whole &= kept || !field.required;
        }
        whole
    }

    fn check_map(&mut self, each: &'static Rule, table: &mut DeTable, place: &Place) -> bool {
        let mut wrong = Vec::new();
        for (key, value) in table.iter_mut() {
            let key = key.get_ref().as_ref();
            if !self.check(each, value, &place.key(key)) {
                wrong.push(key.to_owned());
            }
        }
        for key in wrong {
            self.prune(table, &key, &place.key(&key));
        }
        true
    }

    fn check_entries(&mut self, each: &'static Rule, array: &mut DeArray, place: &Place) -> bool {
        let mut whole = true;
        for (index, value) in array.iter_mut().enumerate() {
            whole &= self.check(each, value, &place.index(index));
        }
        whole
    }

    fn check_length(
        &mut self,
        count: usize,
        allowed: std::ops::RangeInclusive<usize>,
        span: Range<usize>,
        place: &Place,
    ) -> bool {
        let fits = allowed.contains(&count);
        if !fits {
            let message = format!("there must be {} values here, not {count}", allowed.start());
            self.report(Diagnostic::error(place.path(), message).at(span));
        }
        fits
    }

    fn drop_unknown_keys(&mut self, fields: &BTreeMap<String, Field>, table: &mut DeTable, place: &Place) {
        let known = |key: &str| fields.contains_key(key);
        let unknown: Vec<_> = table.keys().filter(|key| !known(key.get_ref())).cloned().collect();
        for key in unknown {
            table.remove(&key);
            // To look for the key that is meant takes time.
            if self.problems.len() <= MOST_PROBLEMS {
                self.report(unknown_key(key.get_ref(), fields, place).at(key.span()));
            }
        }
    }

    fn report_missing(&mut self, key: &'static str, rule: &'static Rule, span: Range<usize>, place: &Place) {
        if self.damaged {
            return;
        }
        let message = match place {
            Place::Top => format!("the {} has no `{key}`", self.kind),
            _ => format!("`{key}` is missing here"),
        };
        let fix = match self.book.follow(rule) {
            Rule::Table(_) if matches!(place, Place::Top) => format!("add a table `[{key}]`"),
            Rule::Text => format!("add `{key} = \"...\"`"),
            _ => format!("add `{key} = ...`"),
        };
        self.report(Diagnostic::error(place.key(key).path(), message).fix(fix).absent(key).at(span));
    }

    fn prune(&mut self, table: &mut DeTable, key: &str, place: &Place) {
        table.remove(key);
        self.pruned.push(place.path());
    }

    fn report(&mut self, problem: Diagnostic) {
        if self.problems.len() < MOST_PROBLEMS {
            self.problems.push(problem);
        } else if self.problems.len() == MOST_PROBLEMS {
            let message = format!("there are more than these {MOST_PROBLEMS} problems; fix these first");
            self.problems.push(Diagnostic::error(FieldPath::root(), message).at(0..0));
        }
    }
}

fn unknown_key(name: &str, fields: &BTreeMap<String, Field>, place: &Place) -> Diagnostic {
    let known = || fields.keys().map(String::as_str);
    let renamed = glossary::key_for(name, |key| fields.contains_key(key));
    let close = nearest(name, known());
    let meant = renamed.map(str::to_owned).or_else(|| close.map(str::to_owned));
    let fix = match (renamed, close) {
        (Some(key), _) => format!("it is called `{key}`; `crumbline upgrade` changes it throughout the file"),
        (None, Some(key)) => format!("did you mean `{key}`?"),
        (None, None) => format!("known here are {}", listed(known().map(in_backticks), "and")),
    };
    let problem = Diagnostic::error(place.key(name).path(), format!("`{name}` is not known here")).fix(fix);
    Diagnostic { key: meant.map(|key| Box::new(KeyProblem::Meant(key))), ..problem }
}

/// The way to the value at hand. Borrows its way up, so that a million points cost no allocation.
enum Place<'a> {
    Top,
    Key(&'a Place<'a>, &'a str),
    Index(&'a Place<'a>, usize),
}

impl<'a> Place<'a> {
    fn key(&'a self, key: &'a str) -> Self {
        Self::Key(self, key)
    }

    fn index(&'a self, index: usize) -> Self {
        Self::Index(self, index)
    }

    fn path(&self) -> FieldPath {
        let (parent, step) = match self {
            Self::Top => return FieldPath::root(),
            Self::Key(parent, key) => (parent, Step::Key((*key).to_owned())),
            Self::Index(parent, index) => (parent, Step::Index(*index)),
        };
        let mut path = parent.path();
        path.0.push(step);
        path
    }
}
