//! "Did you mean ...?"

/// The candidate that `word` is most likely a slip of: at most a third of its letters wrong, case
/// aside. The first of equals.
///
/// ```
/// use cakefile::nearest;
/// assert_eq!(nearest("thicknes", ["height", "thickness"]), Some("thickness"));
/// assert_eq!(nearest("wibble", ["height", "thickness"]), None);
/// ```
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    // A word much longer than any name is no slip, and comparing it would take long.
    const LONGEST_WORD: usize = 60;
    if word.len() > LONGEST_WORD {
        return None;
    }
    let word = word.to_lowercase();
    let allowed = (word.chars().count() / 3).max(1);
    candidates
        .into_iter()
        .map(|name| (strsim::damerau_levenshtein(&word, &name.to_lowercase()), name))
        .filter(|(distance, _)| *distance <= allowed)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, name)| name)
}
