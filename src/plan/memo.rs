//! Results kept by what they were made from.

use std::{
    collections::VecDeque,
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

/// The last few results of one stage, each with its input. Undo and redo, a slider that is moved to and fro and
/// the proposals for a stack come back to inputs that were there before.
#[derive(Debug)]
pub(crate) struct Memo<K, V> {
    kept: Mutex<VecDeque<(K, Arc<V>)>>,
}

/// How many results of a stage are kept.
const MOST_KEPT: usize = 6;

impl<K, V> Default for Memo<K, V> {
    fn default() -> Self {
        Self { kept: Mutex::default() }
    }
}

impl<K: PartialEq, V> Memo<K, V> {
    /// The result that was made from `key`, or else what `make` makes, which is then kept unless it is an error.
    pub fn get_or<E>(&self, key: K, make: impl FnOnce(&K) -> Result<V, E>) -> Result<Arc<V>, E> {
        if let Some(known) = self.find(|kept, _| *kept == key) {
            return Ok(known);
        }
        // Not under the lock: it may take seconds.
        let made = Arc::new(make(&key)?);
        self.keep(key, made.clone());
        Ok(made)
    }

    /// The newest result that `is_it` says yes to.
    pub fn find(&self, is_it: impl Fn(&K, &V) -> bool) -> Option<Arc<V>> {
        let mut kept = self.kept();
        let place = kept.iter().position(|(key, value)| is_it(key, value))?;
        let entry = kept.remove(place)?;
        let found = entry.1.clone();
        kept.push_front(entry);
        Some(found)
    }

    /// Keeps `value`, and lets the one go that was not asked for the longest.
    pub fn keep(&self, key: K, value: Arc<V>) {
        let mut kept = self.kept();
        kept.push_front((key, value));
        kept.truncate(MOST_KEPT);
    }

    fn kept(&self) -> MutexGuard<'_, VecDeque<(K, Arc<V>)>> {
        // A panic elsewhere leaves the list whole: entries go in and out in one step.
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// A value that is equal to itself alone: the result of an earlier stage as the input of a later one.
#[derive(Debug)]
pub(crate) struct Same<T>(pub Arc<T>);

impl<T> PartialEq for Same<T> {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}

#[cfg(test)]
mod tests {
    use std::{cell::Cell, convert::Infallible};

    use super::*;

    #[test]
    fn only_what_changed_is_made_anew_and_the_oldest_goes() {
        let memo = Memo::default();
        let made = Cell::new(0);
        let get = |key: u32| {
            let make = |key: &u32| {
                made.set(made.get() + 1);
                Ok::<_, Infallible>(key * 10)
            };
            *memo.get_or(key, make).unwrap_or_else(|never| match never {})
        };
        assert_eq!((get(1), get(2), get(1), made.get()), (10, 20, 10, 2));
        for key in 3..=u32::try_from(MOST_KEPT).unwrap() + 1 {
            get(key);
        }
        let before = made.get();
        assert_eq!((get(1), made.get()), (10, before), "asked for lately");
        assert_eq!((get(2), made.get()), (20, before + 1), "let go");
    }

    #[test]
    fn an_error_is_not_kept() {
        let memo: Memo<u32, u32> = Memo::default();
        assert_eq!(memo.get_or(1, |_| Err("stopped")), Err("stopped"));
        assert_eq!(*memo.get_or(1, |_| Ok::<_, &str>(7)).unwrap(), 7);
    }
}
