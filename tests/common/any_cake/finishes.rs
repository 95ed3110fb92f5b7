//! What is painted, brushed and dusted on.

use cakefile::schema::{Finish, FinishKind};

use super::{Tape, shapes::Bulk};

const KINDS: [FinishKind; 4] = [FinishKind::Paint, FinishKind::Lustre, FinishKind::Pearl, FinishKind::Dust];

/// Up to three finishes on one thing, at most two of which fade; mostly none.
pub fn any_finishes(t: &mut Tape, size: &Bulk) -> Vec<Finish> {
    if !t.chance(4) {
        return Vec::new();
    }
    let count = t.count(1, 3);
    (0..count)
        .map(|i| {
            let kind = *t.pick(&KINDS);
            let is_pearl = kind == FinishKind::Pearl;
            let fade = t.maybe(3, |t| {
                let full = t.number(-0.1, 1.0) * size.height;
                let gone = if t.chance(2) { full + 0.4 * size.height } else { full - 0.3 * size.height };
                [t.length_of(full), t.length_of(gone)]
            });
            Finish {
                kind,
                colour: if is_pearl { t.maybe(2, Tape::colour) } else { Some(t.colour()) },
                coats: t.maybe(3, |t| t.count(1, 6) as u32),
                fade: fade.filter(|_| i < 2),
                for_show: t.maybe(5, |t| t.chance(2)),
            }
        })
        .collect()
}
