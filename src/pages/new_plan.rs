//! A plan begun from a template: what is known of the day, and what is still to be said, marked where it goes.

use crate::plan::{Gap, Plan};
use crate::syntax::quoted;
use jiff::civil::Date;

/// A plan to begin with.
#[derive(Debug, Clone)]
pub(crate) struct NewPlan<'a> {
    /// Its name.
    pub name: &'a str,
    /// The path of its template, as the plan says it.
    pub from: &'a str,
    /// Its day.
    pub on: Date,
}

/// What is indented by one step.
const INDENT: &str = "    ";

impl NewPlan<'_> {
    /// The text without any gap marked: what the gaps are found from.
    pub(crate) fn bare(&self) -> String {
        format!("{}\n", self.header())
    }

    /// The text, what the plan leaves open marked where it would be said.
    pub(crate) fn text(&self, plan: &Plan) -> String {
        let gaps = plan.gaps();
        if gaps.is_empty() {
            return self.bare();
        }
        let mut lines = vec![format!("{} {{", self.header())];
        for gap in &gaps {
            match gap {
                Gap::Site => lines.extend(marked(1, gap, "site \"\" water=fresh altitude=0 temperature=10")),
                Gap::Dives => lines.extend(marked(1, gap, "dive \"\" { descend 0; stay 0; ascend }")),
                Gap::Divers(_) | Gap::Legs(_) | Gap::Cylinders(..) => {}
            }
        }
        for dive in &plan.dives {
            let here: Vec<&Gap<'_>> = gaps.iter().filter(|gap| gap.dive().is_some_and(|of| of == dive)).collect();
            if here.is_empty() {
                continue;
            }
            lines.push(format!("{INDENT}{} {{", node("dive", &dive.name.value)));
            for gap in here {
                let example = match gap {
                    Gap::Divers(_) => "diver \"\" unit=\"\" supply=\"\" bailout=\"\" set-point=26".to_owned(),
                    Gap::Cylinders(_, diver) => {
                        format!("{} supply=\"\" bailout=\"\"", node("diver", &diver.name.value))
                    }
                    _ => "descend 0; stay 0; ascend".to_owned(),
                };
                lines.extend(marked(2, gap, &example));
            }
            lines.push(format!("{INDENT}}}"));
        }
        lines.push("}\n".to_owned());
        lines.join("\n")
    }

    fn header(&self) -> String {
        let (name, on, from) = (quoted(self.name), quoted(&self.on.to_string()), quoted(self.from));
        format!("plan {name} on={on} status=draft from={from}")
    }
}

fn node(word: &str, name: &str) -> String {
    format!("{word} {}", quoted(name))
}

/// A gap in words, and below it, as a comment still, how it would be said.
fn marked(depth: usize, gap: &Gap<'_>, example: &str) -> [String; 2] {
    let indent = INDENT.repeat(depth);
    [format!("{indent}// To be said: {}. For example:", gap.words()), format!("{indent}// {example}")]
}
