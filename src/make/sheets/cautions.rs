//! What must stand on every cutting sheet about getting hurt.

use super::steady::Steady;

/// What stands at the head of every page of templates.
pub const PAPER: &str =
    "Paper and ink are not for food: keep film or baking paper between template and cake.";

/// The cautions for a cake.
pub fn cautions(steady: &Steady) -> Vec<String> {
    let listed = |hidden: &plan::support::HiddenCount| format!("{} × {}", hidden.count, hidden.what);
    let each: Vec<String> = steady.hidden.iter().map(listed).collect();
    let count = match steady.hidden_count() {
        0 => "Count every stick, straw and skewer out again before serving; leave none in parts for small children."
            .to_owned(),
        1 => format!(
            "1 thing is hidden in this cake ({}): take it out before serving, with every stick and skewer besides.",
            each[0]
        ),
        n => format!(
            "{n} things are hidden in this cake ({}): count all {n} out again before serving, with every stick and \
             skewer besides.",
            each.join(", ")
        ),
    };
    let mut all = vec![count];
    all.extend(
        [
            "Dowels: untreated, food-grade stock only, never building timber.",
            "Knives: cut away from yourself, fingers behind the blade, the board held from sliding.",
            "Hot water, hot sugar and hot chocolate burn: dry a blade that was warmed, keep children away.",
            PAPER,
            "Printed plastic is not food-safe: layer lines hold food and bacteria, nozzle and colours are unknown. \
             Keep a barrier film between, and use a print for one cake only; scrape with a strip of food-grade \
             plastic cut by it, not with the print. Serrated blades shave plastic: smooth blades along guides.",
            "Allergens: tell whoever serves it what is in the cake, the fillings and the coverings.",
            "These are estimates for a practised person to check. Local food codes and licensing come first.",
        ]
        .map(str::to_owned),
    );
    let last = all.len() - 1;
    all.insert(
        last,
        if steady.heavy {
            format!(
                "It weighs {} with its board: two people carry it, by the board, knees bent.",
                steady.carried
            )
        } else {
            "Keep it cold and firm, carry it level, by the board.".to_owned()
        },
    );
    all
}
