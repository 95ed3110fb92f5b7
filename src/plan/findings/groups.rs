//! Findings told together: what is of one kind and fixed in one way is one thing to a maker, with its places.

use super::{Finding, FindingCode};

/// Findings of one kind with one fix.
#[derive(Debug, Clone, PartialEq)]
pub struct Group<'a> {
    /// The first of them.
    pub first: &'a Finding,
    /// The others.
    pub others: Vec<&'a Finding>,
}

/// `findings` in their order, those of one kind that are fixed in one way together. Remarks on the cake file stay apart.
pub fn grouped(findings: &[Finding]) -> Vec<Group<'_>> {
    let mut groups: Vec<Group<'_>> = Vec::new();
    for finding in findings {
        match groups.iter_mut().find(|group| is_alike(group.first, finding)) {
            Some(group) => group.others.push(finding),
            None => groups.push(Group { first: finding, others: Vec::new() }),
        }
    }
    groups
}

fn is_alike(one: &Finding, other: &Finding) -> bool {
    one.code != FindingCode::CakeFile
        && one.code == other.code
        && one.severity == other.severity
        && one.about != other.about
        && one.fix == other.fix
}

impl Group<'_> {
    /// What was found, in one sentence without a full stop: the first with its figures, and what else it is true of.
    pub fn message(&self) -> String {
        let names: Vec<&str> = self.others.iter().map(|other| other.about.as_str()).collect();
        match names.split_last() {
            None => self.first.message.clone(),
            Some((last, [])) => format!("{}; {last} likewise", self.first.message),
            Some((last, rest)) => format!("{}; {} and {last} likewise", self.first.message, rest.join(", ")),
        }
    }
}
