//! Gas that several divers of one dive draw from one cylinder.
//!
//! A diver's own draws depend on nothing but the cylinder giving gas at all. So each diver is run alone, and then once more
//! with what the others draw: that is exact up to the first moment at which a shared cylinder runs empty for all of them,
//! and each further round is exact up to the next one.

use std::any::Any;
use std::collections::BTreeSet;

use crate::physics::tolerance;
use crate::run::{Draw, EventKind, Others, Profile, Sharing, State, Track};

/// What the others of a team draw from one diver's cylinders, and the dives on which they do.
#[derive(Debug, Clone, PartialEq)]
struct Team {
    drawn: Vec<Drawn>,
    /// The others' runs, in the order of [`Profile::others`].
    tracks: Vec<Track>,
}

/// What one diver draws from one of another's cylinders.
#[derive(Debug, Clone, PartialEq)]
struct Drawn {
    /// Who draws it, by number among the others.
    by: usize,
    /// The number of the cylinder in the kit of the diver who is charged.
    cylinder: usize,
    /// In order of time.
    pieces: Vec<Piece>,
}

/// From when on, what was drawn until then, and the flow that follows with its minutes.
type Piece = (f64, f64, Option<(Draw, f64)>);

impl Drawn {
    /// What a track, the other's of a number, draws from a cylinder.
    fn of((by, track): (usize, &Track), (mine, theirs): (usize, usize)) -> Drawn {
        let gulps = track.spent.iter().filter(|spent| spent.cylinder == theirs);
        let mut all: Vec<Piece> = gulps.map(|spent| (spent.t_min, spent.litres, None)).collect();
        for segment in &track.segments {
            let flows = segment.regime.draws.iter().filter(|draw| draw.cylinder == theirs);
            all.extend(flows.map(|draw| (segment.start.t_min, 0.0, Some((*draw, segment.minutes)))));
        }
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        // Flows that begin at one moment run at once, so each is closed before the next of a later moment begins.
        let (mut before, mut running): (f64, Vec<(Draw, f64)>) = (0.0, Vec::new());
        let mut pieces = Vec::with_capacity(all.len());
        let mut last = f64::NEG_INFINITY;
        for (t_min, gulp, flow) in all {
            if t_min > last {
                before += running.drain(..).map(|(draw, minutes)| draw.litres(minutes)).sum::<f64>();
                last = t_min;
            }
            before += gulp;
            running.extend(flow);
            pieces.push((t_min, before, flow));
        }
        Drawn { by, cylinder: mine, pieces }
    }

    /// Free litres drawn up to a moment, what goes at that very moment among it.
    fn until_l(&self, t_min: f64) -> f64 {
        let after = self.pieces.partition_point(|(from, ..)| *from <= t_min);
        let Some((last, before, _)) = after.checked_sub(1).and_then(|last| self.pieces.get(last)) else { return 0.0 };
        let at_once = self.pieces.get(..after).unwrap_or_default().iter().rev().take_while(|(from, ..)| from == last);
        let flowing = at_once.filter_map(|(from, _, flow)| flow.map(|(draw, minutes)| (from, draw, minutes)));
        before + flowing.map(|(from, draw, minutes)| draw.litres((t_min - from).min(minutes))).sum::<f64>()
    }
}

impl Team {
    /// What the others of a team draw from the cylinders of one of its divers.
    fn of(team: &[&Profile], tracks: &[Track], me: usize) -> Option<Others> {
        let mine = team.get(me)?;
        let others = || team.iter().zip(tracks).enumerate().filter(|(number, _)| *number != me).map(|(_, other)| other);
        let drawn = others()
            .enumerate()
            .flat_map(|(by, (dive, track))| shared(mine, dive).map(move |numbers| Drawn::of((by, track), numbers)));
        let tracks = others().map(|(_, track)| track.clone()).collect();
        Some(Others::new(Team { drawn: drawn.collect(), tracks }))
    }

    /// The same from a moment on at which all who share gas for the way out get out as well.
    fn getting_out(&self, dive: &Profile, t_min: f64) -> Others {
        let mut drawn = self.drawn.clone();
        for (by, (other, track)) in dive.others.iter().zip(&self.tracks).enumerate() {
            let out = other.home.out.filter(|_| share_the_way_out(dive, other));
            let from = track.without_clocks_at(t_min);
            if let Some(out) = out
                && from.depth_m() > tolerance::DEPTH_M
            {
                let way = other.bail_out_from(from, &other.sources(), &out);
                drawn.retain(|drawn| drawn.by != by);
                drawn.extend(shared(dive, other).map(|numbers| Drawn::of((by, &way), numbers)));
            }
        }
        Others::new(Team { drawn, tracks: self.tracks.clone() })
    }
}

impl Sharing for Team {
    fn litres(&self, cylinder: usize, from_min: f64, to_min: f64) -> f64 {
        let drawn = self.drawn.iter().filter(|drawn| drawn.cylinder == cylinder);
        drawn.map(|drawn| drawn.until_l(to_min) - drawn.until_l(from_min)).sum()
    }

    fn cylinders(&self) -> Vec<usize> {
        self.drawn.iter().map(|drawn| drawn.cylinder).collect()
    }

    fn as_any(&self) -> &dyn Any {
        self
    }

    fn is_same(&self, other: &dyn Sharing) -> bool {
        other.as_any().downcast_ref::<Team>() == Some(self)
    }
}

/// The cylinders that two divers share, as each numbers them.
fn shared(mine: &Profile, theirs: &Profile) -> impl Iterator<Item = (usize, usize)> {
    let common = |dive: &Profile| -> Vec<Option<usize>> { dive.cylinders.iter().map(|kit| kit.common).collect() };
    let theirs = common(theirs);
    common(mine).into_iter().enumerate().filter_map(move |(number, common)| {
        let common = common?;
        Some((number, theirs.iter().position(|other| *other == Some(common))?))
    })
}

/// Whether one cylinder is for both to get out on. A buddy's spare is the buddy's to get out on, and the diver's who is in
/// need only while the buddy is not.
fn share_the_way_out(mine: &Profile, theirs: &Profile) -> bool {
    let own = |dive: &Profile, number: usize| dive.home.way_out.contains(&number) && !dive.home.spare.contains(&number);
    shared(mine, theirs).any(|(number, other)| own(mine, number) && own(theirs, other))
}

impl Profile {
    /// The dive with what the others draw from its cylinders.
    pub(in crate::run) fn run_together(&self) -> Track {
        let team: Vec<&Profile> = std::iter::once(self).chain(self.others.iter()).collect();
        let mut tracks: Vec<Track> = team.iter().map(|dive| dive.run_beside(None)).collect();
        // As many rounds as there are cylinders that can run empty, and the one that no emptying ends.
        let rounds = 1 + self.cylinders.iter().filter(|kit| kit.common.is_some()).count();
        for _ in 0..rounds {
            let beside = |(number, dive): (usize, &&Profile)| dive.run_beside(Team::of(&team, &tracks, number));
            tracks = team.iter().enumerate().map(beside).collect();
            if !team.iter().zip(&tracks).any(|(dive, track)| dive.runs_out_of_shared(track)) {
                break;
            }
        }
        tracks.swap_remove(0)
    }

    fn runs_out_of_shared(&self, track: &Track) -> bool {
        let shared = |cylinder: usize| self.cylinders.get(cylinder).is_some_and(|kit| kit.common.is_some());
        track.events.iter().any(|event| matches!(event.kind, EventKind::CylinderEmpty(cylinder) if shared(cylinder)))
    }

    fn run_beside(&self, others: Option<Others>) -> Track {
        let mut start = self.start();
        if let Some(others) = others {
            for cylinder in BTreeSet::from_iter(others.cylinders()) {
                start.take(cylinder, others.litres(cylinder, f64::NEG_INFINITY, start.t_min));
            }
            start.others = Some(others);
        }
        self.run_from_start(start)
    }

    /// The state from which a diver gets out when all get out who share the gas for it.
    pub(in crate::run) fn all_getting_out(&self, mut from: State) -> State {
        if let Some(team) = from.others.as_ref().and_then(|others| others.as_any().downcast_ref::<Team>())
            && self.others.iter().any(|other| share_the_way_out(self, other))
        {
            from.others = Some(team.getting_out(self, from.t_min));
        }
        from
    }

    /// Changes this dive, and those of the divers who share its gas, alike.
    #[must_use]
    pub fn alike(&self, change: impl Fn(&mut Profile)) -> Profile {
        let mut changed = self.clone();
        change(&mut changed);
        if !self.others.is_empty() {
            let others = self.others.iter().map(|other| {
                let mut other = other.clone();
                change(&mut other);
                other
            });
            changed.others = others.collect();
        }
        changed
    }
}
