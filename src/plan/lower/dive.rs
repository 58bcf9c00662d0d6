//! A plan and its dives, lowered from nodes that are already merged with the templates'.

use jiff::civil::Date;

use super::kit::work;
use super::view::{Node, Said};
use crate::physics::SetPoint;
use crate::plan::{
    Apparatus, Carried, Defined, Dive, Done, Emergency, EmergencyOxygen, Flight, Leg, LegKind, Limits, NameUse, Open,
    Plan, Preparation, Record, Role, Scope, Site, Status, SwitchTo, TeamMember, Use, Way,
};
use crate::source::Placed;
use crate::words::{LIMITS, OPEN, is_open};

/// How many legs a dive may come to once every `repeat` is written out. Far past any real dive; what lies beyond is
/// left out, so that a slip of the hand costs neither time nor memory.
pub const MOST_LEGS: usize = 2_000;

/// What a plan's text is lowered with.
pub(super) struct Context<'s> {
    pub scope: &'s Scope,
    pub day: Option<Date>,
}

/// Lowers a plan: its node merged with its templates', names resolved against a scope. `templates` are the plans
/// below it, nearest first, as their own nodes.
pub fn plan(own: &Node<'_>, templates: &[Node<'_>], from: Option<Use>, scope: &Scope) -> Plan {
    let merged = templates.iter().fold(own.clone(), |merged, template| merged.over(template.clone()));
    // The day and the status are never a template's to say.
    let on = own.date("on");
    let context = Context { scope, day: on.as_ref().map(|on| on.value) };
    let (mut dives, mut intervals_min) = (Vec::new(), Vec::new());
    for child in merged.children() {
        match &*child.name() {
            "dive" => {
                intervals_min.resize_with(dives.len(), || None);
                dives.push(context.dive(&child));
            }
            // What stands before the first dive, or twice between two, lies between no two dives.
            "interval" if !dives.is_empty() && intervals_min.len() < dives.len() => {
                intervals_min.push(child.number_arg());
            }
            _ => {}
        }
    }
    intervals_min.truncate(dives.len().saturating_sub(1));
    let limits_of = |node: &Node<'_>| node.child("limits").map(|node| limits(&node)).unwrap_or_default();
    let template_limits = templates.split_first().map(|(nearest, farther)| {
        limits_of(&farther.iter().fold(nearest.clone(), |merged, template| merged.over(template.clone())))
    });
    let course = merged.child("course").and_then(|node| node.key_name()).filter(|name| name.value != OPEN);
    Plan {
        file: own.source().file.clone(),
        name: own.name_or_empty(),
        header: own.header(),
        whole: own.whole(),
        on,
        status: status(own).unwrap_or_default(),
        status_at: own.prop("status").map(|said| said.place()),
        from,
        taught: course.as_ref().and_then(|name| scope.courses.get(&name.value)).cloned(),
        course,
        site: merged.child("site").map(|node| context.site(&node)),
        limits: limits_of(&merged).or(&scope.house.limits),
        template_limits,
        open: open(&merged),
        dives,
        intervals_min,
        flight: own.child("flight").map(|node| Flight {
            place: node.header(),
            on: node.date("on"),
            at: node.time("at"),
        }),
    }
}

/// What is still to be answered below a node, in order.
fn open(node: &Node<'_>) -> Vec<Open> {
    let mut found = Vec::new();
    let mut see = |said: &Said<'_>, part: Option<String>| {
        if is_open(&said.entry.value) {
            found.push(Open { place: said.place(), word: node.name().into_owned(), part });
        }
    };
    for said in node.args() {
        see(&said, None);
    }
    for said in node.props() {
        see(&said, said.entry.key.as_ref().map(|key| key.text.to_string()));
    }
    found.extend(node.children().iter().flat_map(open));
    found
}

/// What a plan says it is for.
pub(super) fn status(plan: &Node<'_>) -> Option<Status> {
    Some(match &*plan.text("status")?.value {
        "template" => Status::Template,
        "draft" => Status::Draft,
        "ready" => Status::Ready,
        "dived" => Status::Dived,
        _ => return None,
    })
}

/// Limits as one node says them.
pub(super) fn limits(node: &Node<'_>) -> Limits {
    let children = node.children();
    let said = LIMITS.iter().filter_map(|limit| {
        // Of two singletons the last one holds.
        let word = children.iter().rfind(|child| child.name() == limit.node)?;
        let said = if limit.is_prop { word.amount(limit.value.name) } else { word.amount_arg() };
        Some((limit.name, said?))
    });
    Limits::new(node.header(), said)
}

/// A site as one node says it.
pub(super) fn site(node: &Node<'_>) -> Site {
    Site {
        name: node.key_name(),
        header: node.header(),
        water: node.text("water"),
        density: node.number("density"),
        altitude_m: node.number("altitude"),
        surface_bar: node.number("surface"),
        temperature_c: node.number("temperature"),
        depth_by_line: node.text("depth-by").is_some_and(|by| by.value == "line"),
        depth_by: node.text("depth-by"),
        depth_m: node.child_number("depth"),
        emergency: node.child("emergency").map(|node| emergency(&node)),
    }
}

fn emergency(node: &Node<'_>) -> Emergency {
    Emergency {
        place: Some(node.header()),
        chamber: node.text("chamber"),
        phone: node.text("phone"),
        oxygen: node
            .named("oxygen")
            .map(|oxygen| EmergencyOxygen {
                place: oxygen.header(),
                size_l: oxygen.size_l(),
                gauge_bar: oxygen.number("pressure"),
                count: oxygen.number("count"),
            })
            .collect(),
        evacuation_min: node.child_number("evacuation"),
    }
}

impl Context<'_> {
    /// A plan's site: its own words over those of the site of that name in sight.
    fn site(&self, node: &Node<'_>) -> Site {
        let own = site(node);
        let defined = own.name.as_ref().and_then(|name| self.scope.sites.get(&name.value));
        match defined {
            Some(defined) => own.or(&defined.thing),
            None => own,
        }
    }

    fn dive(&self, node: &Node<'_>) -> Dive {
        let children = node.children();
        let named = |name: &'static str| children.iter().filter(move |child| child.name() == name);
        Dive {
            name: node.name_or_empty(),
            header: node.header(),
            whole: node.whole(),
            at: node.time("at"),
            legs: legs(&children),
            divers: named("diver").map(|node| self.member(node)).collect(),
            team_bailout: node.child("team-bailout").and_then(|said| said.yes_arg()),
            otherwise: named("otherwise").map(|node| self.dive(node)).collect(),
            dived: named("dived").map(record).collect(),
            prepared: named("prepared").map(|node| self.preparation(node)).collect(),
        }
    }

    fn member(&self, node: &Node<'_>) -> TeamMember {
        let name = node.name_or_empty();
        let unit_name = node.text("unit");
        let children = node.children();
        let mut cylinders: Vec<Carried> = Vec::new();
        let mut carry = |role: Placed<Role>, name: NameUse, with: Option<NameUse>| {
            let cylinder = self.scope.cylinders.get(&name.value).cloned();
            cylinders.push(Carried { role, name, cylinder, with });
        };
        for said in node.props() {
            let Some(key) = said.entry.key.as_ref() else { continue };
            let Some(role) = Role::of_word(&key.text) else { continue };
            if let Some(name) = node.text(role.word()) {
                carry(Placed::new(role, said.layer.place(key.span)), name, None);
            }
        }
        for child in children.iter().filter(|child| child.name() == "cylinder") {
            if let (Some(role), Some(name)) = (child.role("role"), child.key_name()) {
                carry(role, name, child.text("with"));
            }
        }
        TeamMember {
            diver: self.scope.divers.get(&name.value).cloned(),
            name,
            header: node.header(),
            whole: node.whole(),
            unit: unit_name.as_ref().and_then(|name| self.unit(&name.value)),
            unit_name,
            cylinders,
            set_point: node.number("set-point").map(|said| said.map(SetPoint::of_written)),
            inflates: node.role_or_none("inflates"),
            work: work(node),
            role: node.text("role"),
            legs: legs(&children),
        }
    }

    /// A unit as it is on the plan's day.
    fn unit(&self, name: &str) -> Option<std::sync::Arc<Defined<Apparatus>>> {
        let unit = self.scope.units.get(name)?;
        let replaced = self.day.and_then(|day| unit.thing.on(day));
        Some(match replaced {
            Some(thing) => std::sync::Arc::new(Defined { thing, ..(**unit).clone() }),
            None => unit.clone(),
        })
    }

    fn preparation(&self, node: &Node<'_>) -> Preparation {
        let routine = node.text("routine");
        Preparation {
            diver: node.name_or_empty(),
            defined: routine.as_ref().and_then(|name| self.scope.routines.get(&name.value)).cloned(),
            routine,
            place: node.header(),
            done: node
                .named("done")
                .map(|done| Done {
                    step: done.name_or_empty(),
                    value: done.number_arg_at(1),
                    at: done.time("at"),
                    by: done.text("by"),
                })
                .collect(),
        }
    }
}

fn record(node: &Node<'_>) -> Record {
    let cylinders = node
        .named("cylinder")
        .filter_map(|cylinder| Some((cylinder.key_name()?, cylinder.number("from"), cylinder.number("to"))));
    Record {
        diver: node.name_or_empty(),
        place: node.header(),
        minutes: node.number("minutes"),
        depth_m: node.number("depth"),
        cylinders: cylinders.collect(),
        beds_min: (node.number_below("bed", "first"), node.number_below("bed", "second")),
    }
}

/// The legs among some children, every `repeat` written out.
fn legs(children: &[Node<'_>]) -> Vec<Leg> {
    let mut legs = Vec::new();
    append_legs(children, &mut legs);
    legs
}

fn append_legs(children: &[Node<'_>], legs: &mut Vec<Leg>) {
    for child in children.iter().filter(|child| child.is_leg()) {
        if legs.len() >= MOST_LEGS {
            return;
        }
        if child.name() == "repeat" {
            let Some(times) = child.number_arg() else { continue };
            let mut round = Vec::new();
            append_legs(&child.children(), &mut round);
            let room = MOST_LEGS - legs.len();
            let times = (times.value.max(0.0) as usize).min(room);
            legs.extend(std::iter::repeat_n(round, times).flatten().take(room));
        } else if let Some(leg) = leg(child) {
            legs.push(leg);
        }
    }
}

fn leg(node: &Node<'_>) -> Option<Leg> {
    let (depth_m, minutes, rate) = (|| node.number_arg(), || node.number("minutes"), || node.number("rate"));
    let kind = match &*node.name() {
        "descend" => LegKind::Descend { depth_m: depth_m(), rate: rate() },
        "stay" => LegKind::Stay { minutes: node.number_arg(), until_min: node.number("until") },
        "ascend" => {
            let depth_m = depth_m();
            // A depth that is there but can't be read must not become a way home.
            if depth_m.is_none() && node.arg(0).is_some() {
                return None;
            }
            LegKind::Ascend { depth_m, rate: rate() }
        }
        "stop" => LegKind::Stop { depth_m: depth_m(), minutes: minutes(), rate: rate() },
        "travel" => LegKind::Travel { depth_m: depth_m(), minutes: node.number("over") },
        "switch" => LegKind::Switch(node.text_arg(0)?.map(|said| SwitchTo::of_text(&said))),
        "drop" => LegKind::Drop(node.text_arg(0)?),
        "take" => LegKind::Take(node.text_arg(0)?),
        "set-point" => LegKind::SetPoint(node.number_arg().map(|said| said.map(SetPoint::of_written))),
        "flush" => LegKind::Flush { volumes: node.number("volumes") },
        "off-loop" => LegKind::OffLoop { minutes: minutes(), who: node.text("who") },
        "on-loop" => LegKind::OnLoop { who: node.text("who") },
        "bail-out" => LegKind::BailOut { who: node.text("who") },
        _ => return None,
    };
    let way = node.text("way").and_then(|said| {
        let way = match &*said.value {
            "in" => Way::In,
            "out" => Way::Out,
            _ => return None,
        };
        Some(Placed::new(way, said.place))
    });
    Some(Leg { kind, place: node.header(), work: work(node), way, exit_min: node.number("exit") })
}
