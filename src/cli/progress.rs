//! How far long work has come, for a person who waits at a terminal.

use std::sync::Once;
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// How long work may take before its progress is shown.
const PATIENCE: Duration = Duration::from_millis(700);

/// A count of what is done, drawn on standard error only where that is a terminal and the work is long.
#[derive(Debug)]
pub(super) struct Progress {
    bar: ProgressBar,
    since: Instant,
    shown: Once,
}

impl Progress {
    /// Progress through this much work.
    pub(super) fn new(all: usize) -> Progress {
        let bar = ProgressBar::with_draw_target(Some(all as u64), ProgressDrawTarget::hidden());
        if let Ok(style) = ProgressStyle::with_template("{bar:30} {pos} of {len} files, {eta} to go") {
            bar.set_style(style);
        }
        Progress { bar, since: Instant::now(), shown: Once::new() }
    }

    /// One more is done.
    pub(super) fn step(&self) {
        if self.since.elapsed() > PATIENCE {
            // A target that is no terminal draws nothing.
            self.shown.call_once(|| self.bar.set_draw_target(ProgressDrawTarget::stderr()));
        }
        self.bar.inc(1);
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}
