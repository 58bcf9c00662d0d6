//! What a check of files says.

use std::cell::OnceCell;
use std::collections::BTreeSet;

use rayon::prelude::*;

use super::{Archive, HostError};
use crate::findings::Finding;
use crate::rules::{self, Look, Settled};
use crate::source::FileId;

/// What a check of some files says.
#[derive(Debug, Clone, Default)]
pub struct Report {
    /// The files looked at, in path order, each with its findings in document order.
    pub files: Vec<(FileId, Vec<Finding>)>,
    /// Files that could not be read, in path order, and why.
    pub unread: Vec<(FileId, HostError)>,
    /// How many rules looked at something.
    pub rules_looked: usize,
    /// How many rules lacked facts on some plan.
    pub rules_lacking_facts: usize,
    /// Safety rules that a root file has lowered, each with its reason.
    pub lowered: Vec<String>,
}

impl Archive {
    /// The findings of one file, waivers and house levels applied, in document order; none of a file that can't be
    /// read, which [`Archive::text`] tells.
    pub fn findings(&self, file: &FileId) -> Vec<Finding> {
        self.settled(file).map(|settled| settled.findings).unwrap_or_default()
    }

    /// Checks files in parallel; the answer doesn't depend on how many threads there are. `progress` is called
    /// after each file.
    pub fn check(&self, files: &[FileId], progress: &(dyn Fn() + Sync)) -> Report {
        let files: BTreeSet<&FileId> = files.iter().collect();
        let files: Vec<&FileId> = files.into_iter().collect();
        // Asked for by every plan, so made before any of them asks.
        self.index();
        let settled: Vec<Result<Settled, HostError>> = files
            .par_iter()
            .map(|file| {
                let settled = self.settled(file);
                progress();
                settled
            })
            .collect();
        let mut report = Report::default();
        let (mut looked, mut lacking, mut lowered) = (BTreeSet::new(), BTreeSet::new(), BTreeSet::new());
        for (file, settled) in files.into_iter().zip(settled) {
            match settled {
                Ok(settled) => {
                    report.files.push((file.clone(), settled.findings));
                    looked.extend(settled.looked);
                    lacking.extend(settled.lacking);
                    lowered.extend(settled.lowered);
                }
                Err(error) => report.unread.push((file.clone(), error)),
            }
        }
        report.rules_looked = looked.len();
        report.rules_lacking_facts = lacking.len();
        report.lowered = lowered.into_iter().collect();
        report
    }

    fn settled(&self, id: &FileId) -> Result<Settled, HostError> {
        let file = self.file(id);
        let text = file.text.as_ref().map_err(Clone::clone)?;
        let Some(word) = file.word() else { return Ok(Settled::default()) };
        let sight = self.sight(id);
        let links = self.links(&file, &sight);
        let earlier = self.earlier(id);
        let look = Look {
            file: id,
            kind: file.kind(),
            text,
            tree: &word.source.tree,
            slips: file.slips(),
            links: &links,
            waivers: &word.waivers,
            plan: sight.plan.as_deref(),
            scope: &sight.scope,
            runs: &self.inner.runs,
            earlier: &earlier,
            day: OnceCell::new(),
        };
        Ok(rules::settle(&look, rules::look(&look)))
    }
}
