//! How stacks are found, what is made beyond what lies on the cake, money, work and waiting, as written.

use super::{Pantry, Range, Reader, usual, written};
use crate::pantry::LogoFile;
use cakefile::{FieldPath, schema};
use formats::model::Rgb;
use geom::units::UnitStyle;

/// No knife cuts finer, and a search would never end, mm.
const FINEST_STEP: f64 = 1.0;

/// Whether letters can be sent to `text`: as much of RFC 5322's addresses (section 3.4.1) as are in use, those
/// that stand in a link as they are (RFC 6068, section 2).
fn is_address(text: &str) -> bool {
    let is_word = |word: &str, also: &str| {
        !word.is_empty() && word.chars().all(|c| c.is_ascii_alphanumeric() || also.contains(c))
    };
    text.split_once('@')
        .is_some_and(|(name, host)| is_word(name, ".!$'*+-=_~") && is_word(host, ".-") && host.contains('.'))
}

impl Reader<'_> {
    pub(super) fn stacking(&mut self, pantry: &mut Pantry, given: &written::Pantry, field: &FieldPath) {
        let Some(given) = &given.stacking else { return };
        let at = field.key("stacking");
        let s = &mut pantry.stacking;
        for (to, value, key) in [
            (&mut s.step, &given.step, "step"),
            (&mut s.thinnest, &given.thinnest, "thinnest"),
            (&mut s.board_every, &given.board_every, "board_every"),
            (&mut s.foot_height, &given.foot_height, "foot_height"),
        ] {
            if let Some(value) = value {
                *to = self.size(value, at.key(key)).unwrap_or(*to);
            }
        }
        if s.step < FINEST_STEP {
            self.refuse(
                at.key("step"),
                format!("layers cannot be cut to steps of {}", UnitStyle::default().length_fine(s.step)),
                "give a step that can be measured on a layer, 1 mm or more; 5 mm is usual",
            );
        }
        let mut x = 0.0;
        if let Some(shave) = &given.shave {
            let mm = shave.to_mm(self.unit).unwrap_or(-1.0);
            self.number(&mut x, Some(mm), Range::NotNegative, at.key("shave"), "an offcut depth, in mm,");
            s.shave = Some(x);
        }
        if let Some(top) = &given.shave_top {
            let mm = top.to_mm(self.unit).unwrap_or(-1.0);
            self.number(
                &mut s.shave_top,
                Some(mm),
                Range::NotNegative,
                at.key("shave_top"),
                "an offcut depth, in mm,",
            );
        }
        self.number(&mut s.overhang, given.overhang, Range::Share, at.key("overhang"), "an overhang");
        self.number(&mut s.undercut, given.undercut, Range::Share, at.key("undercut"), "an undercut");
        if let Some(foot) = &given.foot {
            s.foot = (foot != "none").then(|| usual(foot));
        }
        if given.shortfall.is_some() {
            self.number(&mut x, given.shortfall, Range::NotNegative, at.key("shortfall"), "a shortfall");
            s.shortfall = x * 1000.0;
        }
        if let Some(sponge) = &given.sponge {
            s.sponge = usual(sponge);
        }
        if let Some(filling) = &given.filling
            && let Some(mm) = self.size(&filling.thickness, at.key("filling").key("thickness"))
        {
            s.filling = (usual(&filling.material), mm);
        }
        for (to, value, key) in [
            (&mut s.bake_cost, given.bake_cost, "bake_cost"),
            (&mut s.load_cost, given.load_cost, "load_cost"),
            (&mut s.board_cost, given.board_cost, "board_cost"),
            (&mut s.overhang_cost, given.overhang_cost, "overhang_cost"),
            (&mut s.piece_cost, given.piece_cost, "piece_cost"),
        ] {
            self.number(to, value, Range::NotNegative, at.key(key), "a cost");
        }
        let deepest = pantry.pans.iter().map(|pan| pan.level).fold(0.0, f64::max);
        if UnitStyle::default().is_above(s.thinnest, deepest) && deepest > 0.0 {
            self.refuse(
                at.key("thinnest"),
                format!(
                    "layers of at least {} cannot be cut from bakes of {}",
                    UnitStyle::default().length_fine(s.thinnest),
                    UnitStyle::default().length_fine(deepest)
                ),
                "allow thinner layers, or bake deeper",
            );
        }
        if UnitStyle::default().is_above(s.thinnest, s.board_every) {
            self.refuse(
                at.key("board_every"),
                format!(
                    "a board every {} leaves no room for a layer of {}",
                    UnitStyle::default().length_fine(s.board_every),
                    UnitStyle::default().length_fine(s.thinnest)
                ),
                "allow boards further apart; 150 mm is usual",
            );
        }
    }

    pub(super) fn settings(&mut self, pantry: &mut Pantry, given: &written::Pantry, field: &FieldPath) {
        use Range::{Hour, NotNegative, Share};
        if let Some(extra) = &given.extra {
            let (e, at) = (&mut pantry.extra, field.key("extra"));
            for (to, value, key) in [
                (&mut e.batter, extra.batter, "batter"),
                (&mut e.filling, extra.filling, "filling"),
                (&mut e.coating, extra.coating, "coating"),
                (&mut e.icing, extra.icing, "icing"),
                (&mut e.details, extra.details, "details"),
            ] {
                self.number(to, value, NotNegative, at.key(key), "a share");
            }
        }
        if let Some(servings) = &given.servings {
            let at = field.key("servings");
            if let Some(portion) = &servings.portion {
                let at = at.key("portion");
                let sides = [0, 1, 2].map(|i| self.size(&portion[i], at.index(i)));
                if let [Some(w), Some(l), Some(h)] = sides {
                    pantry.portion = [w, l, h];
                }
            }
            self.number(&mut pantry.truffle, servings.truffle, Range::Above, at.key("truffle"), "a truffle");
        }
        if let Some(money) = &given.money {
            let (m, at) = (&mut pantry.money, field.key("money"));
            if let Some(code) = &money.currency {
                if code.len() == 3 && code.bytes().all(|b| b.is_ascii_uppercase()) {
                    m.currency.clone_from(code);
                } else {
                    self.refuse(
                        at.key("currency"),
                        format!("\"{code}\" is no currency code"),
                        "give the three capital letters of ISO 4217, as \"EUR\" or \"USD\"",
                    );
                }
            }
            match money.decimals {
                Some(places @ 0..=4) => m.decimals = places,
                Some(_) => self.refuse(at.key("decimals"), "no currency has so many decimals", "2 is usual"),
                None => {}
            }
            for (to, value, key) in [
                (&mut m.hour, money.hour, "hour"),
                (&mut m.overhead, money.overhead, "overhead"),
                (&mut m.plastic, money.plastic, "plastic"),
                (&mut m.presentation, money.presentation, "presentation"),
                (&mut m.road, money.road, "road"),
            ] {
                *to = self.price(value, at.key(key)).unwrap_or(*to);
            }
            for (to, value, range, key, what) in [
                (&mut m.margin, money.margin, NotNegative, "margin", "a margin"),
                (&mut m.tax, money.tax, Share, "tax", "a tax"),
                (&mut m.deposit, money.deposit, Share, "deposit", "a deposit"),
            ] {
                self.number(to, value, range, at.key(key), what);
            }
            if money.tax_name.is_some() {
                m.tax_name.clone_from(&money.tax_name);
            }
            m.valid_days = money.valid_days.unwrap_or(m.valid_days);
        }
        if let Some(maker) = &given.maker {
            if maker.name.is_some() {
                pantry.maker.name.clone_from(&maker.name);
            }
            if let Some(address) = &maker.address {
                pantry.maker.address.clone_from(address);
            }
            // What is no colour is told by the file's own check.
            let colour = |given: &Option<schema::Colour>| {
                given.as_ref().and_then(schema::Colour::to_rgb).map(|[r, g, b]| Rgb(r, g, b))
            };
            pantry.maker.accent = colour(&maker.accent).or(pantry.maker.accent);
            pantry.maker.ground = colour(&maker.ground).or(pantry.maker.ground);
            if let Some(name) = &maker.logo {
                pantry.maker.logo = Some(LogoFile { name: name.clone(), pantry: None });
            }
            if let Some(email) = &maker.email {
                let at = field.key("maker").key("email");
                if is_address(email) {
                    pantry.maker.email = Some(email.clone());
                } else {
                    let what = format!("\"{email}\" is not an e-mail address");
                    self.refuse(at, what, "write it as \"orders@example.org\"");
                }
            }
        }
        pantry.written_region = given.region.or(pantry.written_region);
        if let Some(work) = &given.work {
            let (w, at) = (&mut pantry.work, field.key("work"));
            for (to, value, key) in [
                (&mut w.mix, work.mix, "mix"),
                (&mut w.oven, work.oven, "oven"),
                (&mut w.level, work.level, "level"),
                (&mut w.stack, work.stack, "stack"),
                (&mut w.board, work.board, "board"),
                (&mut w.carve, work.carve, "carve"),
                (&mut w.coat, work.coat, "coat"),
                (&mut w.cover, work.cover, "cover"),
                (&mut w.detail, work.detail, "detail"),
                (&mut w.detail_again, work.detail_again, "detail_again"),
                (&mut w.roll, work.roll, "roll"),
                (&mut w.finish, work.finish, "finish"),
                (&mut w.each_cake, work.each_cake, "each_cake"),
            ] {
                self.number(to, value, NotNegative, at.key(key), "a time in minutes");
            }
        }
        if let Some(times) = &given.times {
            let (t, at) = (&mut pantry.times, field.key("times"));
            for (to, value, range, key) in [
                (&mut t.dry, times.dry, NotNegative, "dry"),
                (&mut t.cool, times.cool, NotNegative, "cool"),
                (&mut t.chill, times.chill, NotNegative, "chill"),
                (&mut t.settle, times.settle, NotNegative, "settle"),
                (&mut t.ganache, times.ganache, NotNegative, "ganache"),
                (&mut t.marzipan, times.marzipan, NotNegative, "marzipan"),
                (&mut t.set, times.set, NotNegative, "set"),
                (&mut t.rest, times.rest, NotNegative, "rest"),
                (&mut t.paint, times.paint, NotNegative, "paint"),
                (&mut t.from, times.from, Hour, "from"),
                (&mut t.to, times.to, Hour, "to"),
            ] {
                self.number(to, value, range, at.key(key), "a time in hours");
            }
            if times.firm.is_some() {
                let mut firm = 0.0;
                self.number(&mut firm, times.firm, NotNegative, at.key("firm"), "a time in hours");
                t.firm = Some(firm);
            }
            if t.to <= t.from {
                let message = format!("a working day from {} to {} has no hours", t.from, t.to);
                self.refuse(at.key("to"), message, "end it later than it begins");
            }
        }
        if given.paper.is_some() {
            pantry.paper.clone_from(&given.paper);
        }
        if given.carving.is_some() {
            pantry.carving.clone_from(&given.carving);
        }
        if given.icing.is_some() {
            pantry.icing.clone_from(&given.icing);
        }
        if let Some(units) = &given.units {
            let known = &mut pantry.units;
            known.mass = units.mass.or(known.mass);
            known.volume = units.volume.or(known.volume);
            known.temperature = units.temperature.or(known.temperature);
            known.cups = units.cups.or(known.cups);
        }
        if given.printing.is_some() {
            pantry.printing.clone_from(&given.printing);
        }
    }
}
