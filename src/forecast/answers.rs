//! What was worked out of a run, kept with it: so that who asks again runs nothing again.

use std::any::Any;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::held::Held;

/// A question: its name, and what it depends on beside the run, to the last digit.
type Question = (&'static str, Vec<u64>);

/// Answers about one run, by question.
#[derive(Debug, Default)]
pub(super) struct Answers(Mutex<BTreeMap<Question, Arc<dyn Any + Send + Sync>>>);

/// No more answers are kept about one run: who asks for a hundred stays one after the other has them tried again.
const MOST: usize = 256;
/// What an answer is taken to hold beside itself, bytes.
const POINTS_TO: usize = 256;

impl Answers {
    /// The answer to a question that was asked before, else what `work` finds. The same name always stands for the same
    /// kind of answer, and `beside` for all that it depends on beside the run.
    pub(super) fn get<T: Any + Send + Sync>(
        &self,
        name: &'static str,
        beside: &[f64],
        held: &Held,
        work: impl FnOnce() -> T,
    ) -> Arc<T> {
        let question: Question = (name, beside.iter().map(|figure| figure.to_bits()).collect());
        let known = self.0.lock().unwrap_or_else(PoisonError::into_inner).get(&question).cloned();
        if let Some(known) = known.and_then(|known| known.downcast::<T>().ok()) {
            return known;
        }
        let found = Arc::new(work());
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if kept.len() < MOST {
            held.add(size_of::<T>() + POINTS_TO + question.1.len() * size_of::<u64>());
            kept.insert(question, found.clone());
        }
        found
    }
}
