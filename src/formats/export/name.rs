//! File names made from what a maker calls things.

use unicode_normalization::{UnicodeNormalization, char::is_combining_mark};

use super::same_name::cut;

/// The longest that a name within a file name may be, bytes, so that the rest of the file name has room.
const LONGEST: usize = 80;

/// Letters and figures of `name` in lower case, words joined by dashes; "cake" where that leaves nothing. Of a long
/// name the beginning, and figures that tell it from others that begin alike.
pub fn slug(name: &str) -> String {
    let whole = dashed(name);
    if whole.is_empty() { "cake".into() } else { shortened(&whole, LONGEST) }
}

/// Letters, with the marks that belong to them, and figures of `name` in lower case, everything else one dash.
fn dashed(name: &str) -> String {
    let plain = |c: char| if c.is_alphanumeric() || is_combining_mark(c) { c } else { ' ' };
    let plain: String = name.nfc().map(plain).collect();
    let words: Vec<String> =
        plain.split_whitespace().map(|word| word.to_lowercase().nfc().collect()).collect();
    words.join("-")
}

/// `name` as it is, or where it takes more than `bytes` its beginning and figures made from all of it.
fn shortened(name: &str, bytes: usize) -> String {
    if name.len() <= bytes {
        return name.to_owned();
    }
    let figures = format!("-{:08x}", checksum(name.as_bytes()));
    let start = cut(name, bytes.saturating_sub(figures.len()));
    format!("{}{figures}", start.trim_end_matches('-'))
}

/// FNV-1a in 32 bits, which is the same on every machine and in every version.
fn checksum(bytes: &[u8]) -> u32 {
    bytes.iter().fold(0x811c_9dc5, |hash, byte| (hash ^ u32::from(*byte)).wrapping_mul(0x0100_0193))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_become_file_names() {
        assert_eq!(slug("Toadstool house"), "toadstool-house");
        assert_eq!(slug("../../etc/Café: \"Nº 5\""), "etc-café-nº-5");
        assert_eq!(slug("///"), "cake");
    }

    #[test]
    fn marks_stay_with_their_letters_and_accents_are_written_one_way() {
        assert_eq!(slug("केक 2"), "केक-2");
        assert_eq!(slug("Cafe\u{301}"), "caf\u{e9}");
    }

    #[test]
    fn long_names_are_cut_between_characters_and_stay_different() {
        let (a, b) = ("蛋糕".repeat(40), format!("{}塔", "蛋糕".repeat(40)));
        let [a, b] = [slug(&a), slug(&b)];
        assert_ne!(a, b);
        for name in [a, b] {
            assert!(name.starts_with("蛋糕") && name.len() <= LONGEST && name.len() > 70, "{name}");
        }
    }

    /// Test vectors that come with the algorithm.
    #[test]
    fn the_figures_are_fnv_1a() {
        assert_eq!(
            [checksum(b""), checksum(b"a"), checksum(b"foobar")],
            [0x811c_9dc5, 0xe40c_292c, 0xbf9c_f968]
        );
    }
}
