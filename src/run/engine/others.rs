//! What other divers draw from a diver's cylinders.

use std::any::Any;
use std::fmt::Debug;
use std::sync::Arc;

/// Whoever knows what other divers draw from a diver's cylinders.
pub trait Sharing: Debug + Send + Sync {
    /// Free litres that the others draw from a cylinder between two moments: after the first and up to the second.
    fn litres(&self, cylinder: usize, from_min: f64, to_min: f64) -> f64;

    /// The cylinders they draw from.
    fn cylinders(&self) -> Vec<usize>;

    /// Itself, for who made it.
    fn as_any(&self) -> &dyn Any;

    /// Whether another draws the same.
    fn is_same(&self, other: &dyn Sharing) -> bool;
}

/// What other divers draw from a diver's cylinders.
#[derive(Debug, Clone)]
pub struct Others(Arc<dyn Sharing>);

impl Others {
    /// What somebody knows of it.
    pub fn new(sharing: impl Sharing + 'static) -> Others {
        Others(Arc::new(sharing))
    }
}

impl std::ops::Deref for Others {
    type Target = dyn Sharing;

    fn deref(&self) -> &Self::Target {
        &*self.0
    }
}

impl PartialEq for Others {
    fn eq(&self, other: &Others) -> bool {
        self.0.is_same(&*other.0)
    }
}
