//! What the client sees of the cake.

use std::collections::BTreeSet;

use make::{
    language::{Language, filled},
    shared_name::listed,
};
use plan::{Plan, finishes::Under, stack::SlabKind};

/// What the client sees of the cake, each once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Contents {
    /// What is baked or cast.
    pub inside: Vec<String>,
    /// Fillings.
    pub fillings: Vec<String>,
    /// Coverings from the outside in.
    pub coverings: Vec<String>,
    /// Parts of a covering with a colour or material of their own.
    pub zones: Vec<String>,
    /// Details.
    pub details: Vec<String>,
    /// What is painted or dusted.
    pub finished: Vec<String>,
    /// That of it whose finish is for show only, and not to be eaten.
    pub for_show: Vec<String>,
    /// What the presentation board is covered with.
    pub board: Option<String>,
    /// Whether a ribbon goes round it.
    pub ribbon: bool,
}

impl Contents {
    pub(super) fn of(plan: &Plan) -> Self {
        let materials = |kind: SlabKind| -> Vec<String> {
            let slabs = plan.stack.slabs.iter().filter(|slab| slab.kind == kind);
            let names: BTreeSet<&str> = slabs.map(|slab| slab.material.name.as_str()).collect();
            names.into_iter().map(str::to_owned).collect()
        };
        let board = plan.design.board.as_ref();
        Self {
            inside: materials(SlabKind::Layer),
            fillings: materials(SlabKind::Filling),
            coverings: plan.design.coverings.iter().map(|covering| covering.material.name.clone()).collect(),
            board: board.and_then(|board| Some(board.icing.as_ref()?.material.name.clone())),
            ribbon: board.is_some_and(|board| board.ribbon.is_some()),
            zones: plan
                .design
                .coverings
                .iter()
                .flat_map(|covering| &covering.zones)
                .map(|zone| zone.name.clone())
                .collect(),
            finished: finished(plan, false),
            for_show: finished(plan, true),
            details: plan.design.details.iter().map(|detail| detail.name.clone()).collect(),
        }
    }

    /// The same in sentences without full stops, in `language`.
    pub fn said(&self, language: &Language) -> Vec<String> {
        let words = &language.page;
        let mut said = vec![filled(&words.inside, &[("materials", &language.names(&self.inside))])];
        if !self.fillings.is_empty() {
            said.push(filled(&words.filling, &[("materials", &language.names(&self.fillings))]));
        }
        let over = |upper: String, lower: &String| {
            filled(&words.over, &[("upper", &upper), ("lower", language.name(lower))])
        };
        if let Some((outermost, rest)) = self.coverings.split_first() {
            let all = rest.iter().fold(language.name(outermost).to_owned(), over);
            said.push(filled(&words.covered, &[("materials", &all)]));
        }
        for (words, names) in [
            (&words.zones, &self.zones),
            (&words.details, &self.details),
            (&words.finished, &self.finished),
            (&words.for_show, &self.for_show),
        ] {
            if !names.is_empty() {
                let names: Vec<&str> = names.iter().map(String::as_str).collect();
                said.push(filled(words, &[("names", &listed(&names, language))]));
            }
        }
        if let Some(material) = &self.board {
            said.push(filled(&words.board_iced, &[("material", language.name(material))]));
        }
        if self.ribbon {
            said.push(words.board_ribbon.clone());
        }
        said
    }
}

/// What has a finish, or one for show only, each once.
fn finished(plan: &Plan, only_for_show: bool) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for put_on in plan.finishes() {
        let name = match put_on.under {
            Under::Covering(name) | Under::Zone(name) => name,
            Under::Detail(places) => places[0].written_name(),
        };
        if (put_on.finish.for_show || !only_for_show) && !names.iter().any(|known| known == name) {
            names.push(name.to_owned());
        }
    }
    names
}
