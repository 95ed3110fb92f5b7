//! What must be said wherever printed parts are listed.

use super::{Group, Kit};
use crate::language::{KitWords, Language};

/// The cautions for what is in `kit`, in `language`.
pub fn cautions<'a>(kit: &Kit, language: &'a Language) -> Vec<&'a str> {
    let words: &KitWords = &language.kit;
    let has = |groups: &[Group]| kit.parts.iter().any(|part| groups.contains(&part.group));
    let by_group: [(&[Group], &str); 4] = [
        // Edges that would work in the coat itself.
        (&[Group::Scrapers, Group::SwingFormers], &words.pattern),
        // What a knife rides on.
        (&[Group::GuideDiscs, Group::LevellingRings], &words.guides),
        // What is held against the cake.
        (&[Group::Combs, Group::RingGauges, Group::DepthGauges], &words.gauges),
        // What cuts or presses.
        (&[Group::Cutters, Group::Stamps], &words.press_film),
    ];
    let mut said = vec![words.plastic.as_str()];
    said.extend(by_group.iter().filter(|(groups, _)| has(groups)).map(|(_, words)| *words));
    said.extend([words.warm.as_str(), words.count_out.as_str()]);
    said
}
