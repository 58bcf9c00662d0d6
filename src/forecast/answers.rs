//! What was worked out of a run, kept with it: so that who asks again runs nothing again.

use std::any::Any;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

/// A question: its name, and what it depends on beside the run, to the last digit.
type Question = (&'static str, Vec<u64>);

/// Answers about one run, by question.
#[derive(Debug, Default)]
pub(super) struct Answers(Mutex<BTreeMap<Question, Arc<dyn Any + Send + Sync>>>);

impl Answers {
    /// The answer to a question that was asked before, else what `work` finds. The same name always stands for the same
    /// kind of answer, and `beside` for all that it depends on beside the run.
    pub(super) fn get<T: Any + Send + Sync>(
        &self,
        name: &'static str,
        beside: &[f64],
        work: impl FnOnce() -> T,
    ) -> Arc<T> {
        let question = (name, beside.iter().map(|figure| figure.to_bits()).collect());
        let known = self.0.lock().unwrap_or_else(PoisonError::into_inner).get(&question).cloned();
        if let Some(known) = known.and_then(|known| known.downcast::<T>().ok()) {
            return known;
        }
        let found = Arc::new(work());
        self.0.lock().unwrap_or_else(PoisonError::into_inner).insert(question, found.clone());
        found
    }
}
