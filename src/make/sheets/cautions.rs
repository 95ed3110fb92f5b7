//! What must stand on every cutting sheet about getting hurt.

use super::steady::{Hidden, Steady};
use crate::language::{Language, filled};

/// The cautions for a cake, in `language`.
pub fn cautions(steady: &Steady, language: &Language) -> Vec<String> {
    let words = &language.caution;
    let listed = |hidden: &Hidden| format!("{} × {}", hidden.count, hidden.what);
    let each = steady.hidden.iter().map(listed).collect::<Vec<_>>().join(", ");
    let count = match steady.hidden_count() {
        0 => words.none_hidden.clone(),
        1 => filled(&words.one_hidden, &[("each", &each)]),
        n => filled(&words.hidden, &[("count", &n.to_string()), ("each", &each)]),
    };
    let carried =
        if steady.heavy { filled(&words.heavy, &[("mass", &steady.carried)]) } else { words.carry.clone() };
    let same = [&words.dowels, &words.knives, &words.hot, &words.paper, &words.plastic, &words.allergens];
    let mut all = vec![count];
    all.extend(same.into_iter().cloned());
    all.extend([carried, words.estimate.clone()]);
    all
}
