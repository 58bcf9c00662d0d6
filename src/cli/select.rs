//! Which findings are asked for: by rule, or by the rules' family.

use std::io;

use clap::Args;

use crate::findings::Finding;
use crate::rules::{self, RuleInfo};
use crate::words::nearest;

/// Which findings are asked for.
#[derive(Debug, Args)]
pub(super) struct Select {
    /// Only the findings of these rules or families of rules, and those that can't be waived
    #[arg(long, value_name = "RULE|FAMILY", value_delimiter = ',')]
    select: Vec<String>,
    /// No findings of these rules or families of rules, but those that can't be waived
    #[arg(long, value_name = "RULE|FAMILY", value_delimiter = ',')]
    ignore: Vec<String>,
}

/// The rules whose findings are asked for.
#[derive(Debug)]
pub(super) struct Selected {
    wanted: Vec<&'static str>,
}

impl Select {
    /// What is asked for; `None` where all is.
    ///
    /// # Errors
    /// That there is no rule and no family of a name.
    pub(super) fn selected(&self) -> io::Result<Option<Selected>> {
        if self.select.is_empty() && self.ignore.is_empty() {
            return Ok(None);
        }
        let (select, ignore) = (meant(&self.select)?, meant(&self.ignore)?);
        let is_wanted =
            |rule: &&RuleInfo| (self.select.is_empty() || select.contains(&rule.slug)) && !ignore.contains(&rule.slug);
        let wanted = rules::infos().into_iter().filter(is_wanted).map(|rule| rule.slug).collect();
        Ok(Some(Selected { wanted }))
    }
}

impl Selected {
    /// Whether a finding is listed: it is of a rule that is asked for, or may be passed over by nobody.
    pub(super) fn lists(&self, finding: &Finding) -> bool {
        let may_be_waived = rules::info(&finding.rule).is_some_and(|rule| rule.waivable) && !finding.stands;
        !may_be_waived || self.wanted.contains(&&*finding.rule)
    }
}

/// The rules of some names, each a rule's or a family's.
fn meant(names: &[String]) -> io::Result<Vec<&'static str>> {
    let mut meant = Vec::new();
    for name in names {
        let all = rules::infos();
        let of_family: Vec<&'static str> =
            all.iter().filter(|rule| rule.family.word() == name).map(|rule| rule.slug).collect();
        match rules::info(name) {
            Some(rule) => meant.push(rule.slug),
            None if !of_family.is_empty() => meant.extend(of_family),
            None => {
                let known = all.iter().flat_map(|rule| [rule.slug, rule.family.word()]);
                let near = nearest(name, known).map_or_else(String::new, |near| format!(": did you mean {near}?"));
                let message = format!("there is no rule and no family {name:?}{near}");
                return Err(io::Error::new(io::ErrorKind::InvalidInput, message));
            }
        }
    }
    Ok(meant)
}
