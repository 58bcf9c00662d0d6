//! Waivers that stand in kit files, which only a look at all plans can tell to be of no use.

use std::collections::BTreeSet;

use crate::archive::{Archive, Report};
use crate::findings::Finding;
use crate::plan::{Status, Waiver};
use crate::rules;
use crate::source::{FileId, Place};
use crate::words::FileKind;

impl Archive {
    /// Adds to a report of all files what it tells of kit files' waivers that cover nothing, though plans still to be
    /// dived see them.
    pub(in crate::archive) fn tell_idle_waivers(&self, report: &mut Report) {
        let used: BTreeSet<&Place> =
            report.files.iter().flat_map(|(_, findings)| findings).flat_map(covering).collect();
        let of_kit = report.files.iter().filter(|(file, _)| self.kind(file) == FileKind::Kit);
        let idle: Vec<Waiver> =
            of_kit.flat_map(|(file, _)| self.waivers(file)).filter(|it| !used.contains(&it.place)).collect();
        if idle.is_empty() {
            return;
        }
        let in_sight = self.seen_by_plans_ahead(report);
        for waiver in idle.iter().filter(|waiver| in_sight.contains(&waiver.place.file)) {
            let file = self.file(&waiver.place.file);
            let Ok(text) = file.text() else { continue };
            let of_file = report.files.binary_search_by(|(file, _)| file.cmp(&waiver.place.file));
            let findings = of_file.ok().and_then(|at| report.files.get_mut(at)).map(|(_, findings)| findings);
            if let (Some(findings), Some(finding)) = (findings, rules::language::waivers::idle(text, waiver)) {
                let at = findings.partition_point(|other| other.place.span.start <= finding.place.span.start);
                findings.insert(at, finding);
            }
        }
    }

    /// The waivers that a file says itself.
    fn waivers(&self, file: &FileId) -> Vec<Waiver> {
        let file = self.file(file);
        // Most kit files have none, and need not be opened for that.
        if !file.summary().waives {
            return Vec::new();
        }
        file.word().map(|word| word.waivers.clone()).unwrap_or_default()
    }

    /// The files that plans still to be dived see.
    fn seen_by_plans_ahead(&self, report: &Report) -> BTreeSet<FileId> {
        let is_ahead = |file: &&FileId| {
            let plan = self.plan(file);
            plan.is_some_and(|plan| matches!(plan.status, Status::Draft | Status::Ready))
        };
        report.files.iter().map(|(file, _)| file).filter(is_ahead).flat_map(|file| self.in_sight(file)).collect()
    }
}

fn covering(finding: &Finding) -> impl Iterator<Item = &Place> {
    finding.waived.iter().flat_map(|waived| &waived.by)
}
