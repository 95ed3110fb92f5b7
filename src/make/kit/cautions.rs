//! What must be said wherever printed parts are listed.

use super::{Group, Kit};

/// On every list.
const ALWAYS: [&str; 3] = [
    "Printed plastic is not safe for food: layer lines hold food and bacteria, and nobody knows what the nozzle and \
     the colourants leave. Do both: keep film or baking paper between the print and everything that is eaten, and use \
     a print for one cake only. Your local food code and licensing come first.",
    "Common filament softens from about 55 °C: wash by hand, lukewarm; no hot water, hot sugar or hot chocolate.",
    "Count every part, dowel, stick and straw out again before the cake is served. Dowels are of untreated, \
     food-grade stock, never building timber. Mind allergens: what touched one cake touches no other.",
];

/// For edges that would work in the coat itself.
const PATTERN: &str = "A scraper cannot work through film, so the print is a pattern and a holder, not the scraper. \
     Lay its flat face (the one that was printed on the bed) on a sheet of food-grade plastic or acetate, 0.5 to 1 mm \
     thick, trace the edge, cut it out and smooth it. Clip that strip to the flat face with two or three clips, its \
     lower edge level with the print's and its working edge 3 mm out beyond it, and set the foot 3 mm further from \
     the middle: the strip works at the line, and no print touches the coat. Or close the working edge with smooth \
     tape made for contact with food, pressed down all along, and throw the tape away afterwards.";

/// For what a knife rides on.
const GUIDES: &str = "Guides: a serrated blade scrapes plastic into the cake. Let only a smooth blade ride on them, \
     fingers behind it; look at guide and cake for chips after every cut, and throw the guide away afterwards.";

/// For what is held against the cake.
const GAUGES: &str =
    "Combs and gauges: wrap them in film and hold them to the cake, do not drag them over it.";

/// For what cuts or presses.
const CUTTERS: &str = "Cutters and stamps: lay film over the paste and cut or press through it.";

/// The cautions for what is in `kit`.
pub fn cautions(kit: &Kit) -> Vec<&'static str> {
    let has = |groups: &[Group]| kit.parts.iter().any(|part| groups.contains(&part.group));
    let mut said = vec![ALWAYS[0]];
    let by_group: [(&[Group], &str); 4] = [
        (&[Group::Scrapers, Group::SwingFormers], PATTERN),
        (&[Group::GuideDiscs, Group::LevellingRings], GUIDES),
        (&[Group::Combs, Group::RingGauges, Group::DepthGauges], GAUGES),
        (&[Group::Cutters, Group::Stamps], CUTTERS),
    ];
    said.extend(by_group.iter().filter(|(groups, _)| has(groups)).map(|(_, words)| *words));
    said.extend(&ALWAYS[1..]);
    said
}
