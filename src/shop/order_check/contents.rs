//! Allergens that nobody has declared, and what a client asks to be without.

use super::{Concern, NoteKind, OrderCheck};
use crate::{
    amounts::{Amounts, Bought},
    words::listed,
};
use plan::{
    Plan,
    pantry::{AllergenGroup, Declared, is_of, list_of, regulated},
};

pub(super) fn look(plan: &Plan, amounts: &Amounts, check: &mut OrderCheck) {
    let region = plan.pantry.region();
    for asked in plan.order.without.iter().flatten() {
        let asked = asked.trim();
        if !asked.chars().any(char::is_alphanumeric) {
            check.add(
                Concern::Without,
                format!("the order asks for it without \"{asked}\", which names nothing"),
                "name what must not be in it, as \"nuts\", or take it out ([order] without)",
            );
            continue;
        }
        let found: Vec<String> =
            amounts.shopping.bought.iter().filter_map(|bought| found_in(asked, bought, amounts)).collect();
        if !found.is_empty() {
            check.add_about(
                Concern::Without,
                &[asked.to_owned()],
                format!("it is to be without {asked}, and there is {}", listed(&found)),
                "use another ingredient or recipe and write down what its label says, or tell the client that it \
                 cannot be made without",
            );
        }
        let groups = AllergenGroup::named_in(asked);
        if !groups.iter().any(|group| regulated(region).contains(group)) {
            let told = format!(
                "\"{asked}\" is none of {}, which labels must name: it was looked for in what the pantry declares and \
                 in the names of ingredients only; read the lists of ingredients",
                list_of(region)
            );
            check.note(NoteKind::NotRegulated, &[asked.to_owned()], told);
        }
    }
    let undeclared = &amounts.shopping.undeclared;
    if !undeclared.is_empty() {
        check.add_about(
            Concern::UndeclaredAllergens,
            undeclared,
            format!("nobody has said which allergens are in {}", listed(undeclared)),
            format!(
                "read the labels and say what is in it: allergens of {}; also where a label names none of {} \
                 ([pantry.goods.\"{}\"] allergens, [] for none)",
                quoted(undeclared),
                list_of(region),
                undeclared[0]
            ),
        );
    }
}

/// What of `asked` is in a thing: by what is declared, and by its name where nothing is.
fn found_in(asked: &str, bought: &Bought, amounts: &Amounts) -> Option<String> {
    let uses = amounts.made.iter().filter(|made| made.parts.iter().any(|(part, _)| *part == bought.name));
    let mut uses: Vec<&str> =
        uses.map(|made| made.material.as_str()).filter(|name| *name != bought.name).collect();
    uses.dedup();
    let place = if uses.is_empty() { String::new() } else { format!(", used for {}", uses.join(" and ")) };
    let named = bought.allergens.named().iter().find(|allergen| is_of(asked, &allergen.name));
    if let Some(allergen) = named {
        return Some(format!("{allergen} in {}{place}", bought.name));
    }
    // A word that is no allergen is looked for in names whatever is declared.
    let by_name = bought.allergens == Declared::Nothing || AllergenGroup::named_in(asked).is_empty();
    (by_name && is_of(asked, &bought.name)).then(|| format!("{} by its name{place}", bought.name))
}

/// Names in quotation marks, with commas between.
fn quoted(names: &[String]) -> String {
    let all: Vec<String> = names.iter().map(|name| format!("\"{name}\"")).collect();
    listed(&all)
}
