//! The dives of a day: what one leaves for the next.

use leadsman::archive::Archive;
use leadsman::forecast::Day;
use leadsman::forecast::dives::DiverDive;
use leadsman::run::{EventKind, Exposure};
use leadsman::source::FileId;

use super::inputs::{KIT, all};
use super::unsaved;

/// Two dives with an interval of 90 minutes, over which the clock halves.
fn two_dives(kit: &str, first: &str) -> (Archive, FileId) {
    let dive = |name: &str, more: &str| {
        format!(
            "    dive {name:?} {{\n descend 20\n stay 20\n ascend\n {more}\n diver \"Rowan\" unit=\"fen-3\" supply=\"S12-04\" bailout=\"S7-14\" set-point=26\n }}\n"
        )
    };
    let plan = format!(
        "{kit}\nplan \"Grund\" on=\"2027-05-15\" {{\n    site temperature=21.1 surface=1.0\n{}    interval 90\n{}}}\n",
        dive("one", first),
        dive("two", "")
    );
    let (archive, files) = unsaved(&[("a.plan.kdl".to_owned(), plan)]);
    (archive, files[0].clone())
}

#[test]
fn a_dive_begins_with_what_the_one_before_it_left() {
    let (archive, file) = two_dives(KIT, "otherwise \"fog\" { descend 9; stay 60; ascend; }");
    let all = all(&archive, &file, |simulated| {
        let simulated = simulated.unwrap();
        let track = &simulated.ran.track;
        (track.start().litres.clone(), track.end.litres.clone(), simulated.carried, simulated.ran.clone())
    });
    let [first, fog, second] = &all[..] else { panic!("three dives") };
    // The alternative begins like the dive it stands for and leaves nothing behind.
    assert_eq!((&fog.0, fog.2), (&first.0, first.2));
    assert!(first.1[0] < first.0[0] && first.2 == Exposure::default());
    for (before, after) in first.1.iter().zip(&second.0) {
        assert!((before - after).abs() < 1e-9);
    }
    let took = first.3.rich_mix().exposure();
    assert!(took.clock > 0.0 && (second.2.clock - took.clock / 2.0).abs() < 1e-12);
    assert!((second.2.units - took.units).abs() < 1e-12);
    assert!((second.2.absorbent_min - first.3.track.exposure().absorbent_min).abs() < 1e-12);
}

#[test]
fn what_a_dive_leaves_is_not_known_where_it_can_t_be_run() {
    let (archive, file) = two_dives(&KIT.replace("make-up yes", ""), "");
    let found = all(&archive, &file, |simulated| simulated.map(|_| ()).unwrap_err());
    assert_eq!(found[0], found[1]);
    assert_eq!(found[1][0].fact, "`make-up` of unit \"fen-3\"");
    // A leg that says nothing is a defect of the text, and the dives after it are not known for it.
    let (archive, file) = two_dives(KIT, "stay");
    assert_eq!(all(&archive, &file, |simulated| simulated.map(|_| ()).unwrap_err()), [vec![], vec![]]);
}

/// The clock's end is told where the day's sum comes to it, and the absorbent's where all of the day has used it up.
#[test]
fn what_earlier_dives_took_brings_the_end_nearer() {
    let kit = KIT.replace("rated minutes=180", "rated minutes=90");
    let (archive, file) = two_dives(&kit, "");
    let spent = |kind: EventKind| {
        all(&archive, &file, move |simulated| {
            simulated.unwrap().events().iter().find(|event| event.kind == kind).map(|event| event.t_min)
        })
    };
    // Two thirds of 90 are 60, 5 used. The first dive takes 5 of pre-breathe at rest and 4/3 + 20 of moderate work, each
    // 1.5/1.2 of a rated minute, and 20/9 home in light work; the second takes its own pre-breathe and then what is left at that rate.
    let first = 5.0 + (4.0 / 3.0 + 20.0) * 1.25 + 20.0 / 9.0;
    let wanted = (55.0 - first - 5.0) / 1.25;
    let absorbent = spent(EventKind::AbsorbentSpent);
    assert_eq!(absorbent[0], None);
    assert!((absorbent[1].unwrap() - wanted).abs() < 1e-6, "{absorbent:?} {wanted}");
    // NOAA's limits, 120 minutes at 1.5 atm and 45 at 1.6, taken linear in percent a minute: 1.93 at 1.579 atm, which 32 %
    // are at 5 bar. Thirty minutes of each of two dives, with no interval said, are past the limit within the second.
    let dive = |name: &str| {
        format!(
            "dive {name:?} {{\n travel 40 over=0.001\n stay 30 work=rest\n ascend\n diver \"Rowan\" back=\"D\"\n }}\n"
        )
    };
    let oxygen = format!(
        "{KIT}\ncylinder \"D\" size=50 {{ fill 200 on=\"2027-05-14\" o2=32; }}\nplan \"Grund\" on=\"2027-05-15\" {{\n site surface=1.0\n{}{}}}\n",
        dive("one"),
        dive("two")
    );
    let (archive, files) = unsaved(&[("a.plan.kdl".to_owned(), oxygen)]);
    let clock = all(&archive, &files[0], |simulated| {
        let simulated = simulated.unwrap();
        let at = simulated.events().iter().find(|event| event.kind == EventKind::ClockSpent).map(|event| event.t_min);
        (at, simulated.carried.clock)
    });
    assert_eq!(clock[0].0, None);
    let (at, before) = (clock[1].0.unwrap(), clock[1].1);
    let a_minute = 1.0 / 120.0 + (1.6 / 1.01325 - 1.5) / 0.1 * (1.0 / 45.0 - 1.0 / 120.0);
    assert!(before > 30.0 * a_minute && before < 32.0 * a_minute, "{clock:?}");
    // Nobody is at 40 m at once: the run gives the way down 0.04 minutes.
    assert!((at - (1.0 - before) / a_minute).abs() < 0.05, "{clock:?}");
}

/// What a fix would take instead may have been used in the morning as well.
#[test]
fn another_cylinder_in_a_dive_s_place_holds_what_is_left_in_it() {
    let dive = |name: &str, supply: &str| {
        format!(
            "dive {name:?} {{\n descend 20\n stay 20\n ascend\n diver \"Rowan\" unit=\"fen-3\" supply={supply:?} set-point=26\n }}\n"
        )
    };
    let plan = format!(
        "{KIT}\ncylinder \"S12-09\" size=12 {{ fill 190 on=\"2027-05-14\" o2=35; }}\nplan \"Grund\" on=\"2027-05-15\" {{\n{}{}}}\n",
        dive("one", "S12-04"),
        dive("two", "S12-09")
    );
    let (archive, files) = unsaved(&[("a.plan.kdl".to_owned(), plan)]);
    let (plan, scope) = (archive.plan(&files[0]).unwrap(), archive.scope(&files[0]));
    let day = Day::of(&scope, archive.runs(), &plan, &[]);
    let all: Vec<_> = day.iter().map(|(dive, simulated)| (dive, simulated.as_ref().unwrap())).collect();
    let ((morning, first), (afternoon, second)) = (all[0], all[1]);
    let mut member = afternoon.member.clone();
    member.cylinders = morning.member.cylinders.clone();
    let changed = DiverDive { member: &member, ..*afternoon };
    let instead = day.instead(&scope, archive.runs(), afternoon, &changed).unwrap();
    let left = first.ran.track.end.litres[0];
    assert!((instead.ran.track.start().litres[0] - left).abs() < 1e-9);
    assert!(second.ran.track.start().litres[0] > left);
    assert_eq!(instead.carried, second.carried);
}

/// A plan of two dives, what stands before and between them, and a gradient.
fn with_gradient(between: &str, times: [&str; 2]) -> (Archive, FileId) {
    let dive = |name: &str, at: &str| {
        format!(
            "    dive {name:?} {at} {{\n descend 30\n stay 20\n ascend\n diver \"Rowan\" unit=\"fen-3\" supply=\"S12-04\" bailout=\"S7-14\" set-point=26\n }}\n"
        )
    };
    let (one, two) = (dive("one", times[0]), dive("two", times[1]));
    let limits = "limits { gradient low=40 high=70; }";
    let plan =
        format!("{KIT}\nplan \"Grund\" on=\"2027-05-15\" {{\n site surface=1.0\n {limits}\n{one}{between}\n{two}}}\n");
    let (archive, files) = unsaved(&[("a.plan.kdl".to_owned(), plan)]);
    (archive, files[0].clone())
}

/// Tissues at the start of the second dive are those at the end of the first after the interval on air, and longer rest
/// never makes the second way up longer.
#[test]
fn tissues_are_carried_over_an_interval() {
    let second = |between: &str, times: [&str; 2]| {
        let (archive, file) = with_gradient(between, times);
        let found = all(&archive, &file, |simulated| simulated.unwrap().ran.clone());
        let [first, second] = &found[..] else { panic!("two dives") };
        let (ends, begins) = (first.track.end.exposure.body.unwrap(), second.track.start().exposure.body.unwrap());
        (
            ends.tissues,
            begins.tissues,
            second.track.stops().iter().map(|stop| stop.minutes).sum::<f64>(),
            first.track.end.t_min,
        )
    };
    let (ends, begins, stops, _) = second("    interval 60", ["", ""]);
    for (found, by_hand) in begins.inert_bar().iter().zip(ends.after_surface(1.0, 60.0).inert_bar()) {
        assert!((found - by_hand).abs() < 1e-12);
    }
    let mut last = f64::INFINITY;
    for minutes in [0, 30, 60, 120, 240, 600] {
        let stops = second(&format!("    interval {minutes}"), ["", ""]).2;
        assert!(stops <= last, "{minutes}: {stops} after {last}");
        last = stops;
    }
    assert!(stops > last, "an hour is not a night");
    // Where no interval is written the times of day say it: from 9:00 and the first run to 11:00.
    let (ends, begins, _, lasted) = second("", ["at=\"09:00\"", "at=\"11:00\""]);
    for (found, by_hand) in begins.inert_bar().iter().zip(ends.after_surface(1.0, 120.0 - lasted).inert_bar()) {
        assert!((found - by_hand).abs() < 1e-9);
    }
}

/// Two plans of one day over one kit, the second at 11:00; `first` and `second` go into their dives, `status` is the
/// first one's, `more` goes into the kit.
fn two_plans(status: &str, first: &str, more: &str) -> (Archive, FileId) {
    let plan = |name: &str, on: &str, status: &str, at: &str, more: &str| {
        format!(
            "use \"club.kit.kdl\"\nplan {name:?} on=\"{on}\" status={status} {{\n site surface=1.0\n limits {{ gradient low=40 high=70; }}\n \
             dive {name:?} at={at:?} {{\n descend 30\n stay 20\n ascend\n diver \"Rowan\" unit=\"fen-3\" supply=\"S12-04\" bailout=\"S7-14\" set-point=26\n {more}\n }}\n}}\n"
        )
    };
    let files = [
        ("a.plan.kdl".to_owned(), plan("one", "2027-05-15", status, "09:00", first)),
        ("b.plan.kdl".to_owned(), plan("two", "2027-05-15", "draft", "11:00", "")),
        ("club.kit.kdl".to_owned(), format!("{KIT}\n{more}")),
    ];
    let (archive, files) = unsaved(&files);
    (archive, files[1].clone())
}

fn begins(archive: &Archive, file: &FileId) -> (Vec<f64>, Option<leadsman::run::Body>, Exposure) {
    let found = all(archive, file, |simulated| {
        let simulated = simulated.unwrap();
        let start = simulated.ran.track.start().clone();
        (start.litres.to_vec(), start.exposure.body, simulated.carried)
    });
    found.into_iter().next().unwrap()
}

/// What one plan leaves is what the next one of the day begins with, just as within one plan.
#[test]
fn a_plan_begins_with_what_the_one_before_it_left() {
    let (archive, second) = two_plans("ready", "", "");
    let across = begins(&archive, &second);
    let (archive, one) = with_gradient("", ["at=\"09:00\"", "at=\"11:00\""]);
    let within = all(&archive, &one, |simulated| {
        let simulated = simulated.unwrap();
        let start = simulated.ran.track.start().clone();
        (start.litres.to_vec(), start.exposure.body, simulated.carried)
    });
    for (a, b) in across.0.iter().zip(&within[1].0) {
        assert!((a - b).abs() < 1e-6, "{a} {b}");
    }
    for (a, b) in across.1.unwrap().tissues.inert_bar().iter().zip(within[1].1.unwrap().tissues.inert_bar()) {
        assert!((a - b).abs() < 1e-9, "{a} {b}");
    }
    assert!((across.2.clock - within[1].2.clock).abs() < 1e-12);
    assert!((across.2.absorbent_min - within[1].2.absorbent_min).abs() < 1e-9);
}

/// A draft leaves nothing, and a fill after the dive is a full cylinder.
#[test]
fn what_counts_of_another_plan() {
    let (archive, second) = two_plans("draft", "", "");
    let fresh = begins(&archive, &second);
    assert_eq!(fresh.2, Exposure::default());
    let (archive, second) = two_plans("ready", "", "");
    let after = begins(&archive, &second);
    assert!(after.0[0] < fresh.0[0] && after.2.clock > 0.0);
    let other = all(&archive, &FileId::new("a.plan.kdl"), |simulated| simulated.unwrap().carried);
    assert_eq!(other, [Exposure::default()], "the first begins with nothing");
    let (archive, second) = two_plans("ready", "// only a comment", "");
    assert_eq!(begins(&archive, &second), after);
}

/// What was dived counts where it is worse than what was planned, quantity by quantity.
#[test]
fn a_record_counts_where_it_is_worse() {
    let with = |record: &str| {
        let (archive, second) = two_plans("dived", record, "");
        begins(&archive, &second)
    };
    let planned = with("");
    let less = with("dived \"Rowan\" minutes=12 depth=12 { cylinder \"S12-04\" from=205 to=200; bed first=10; }");
    assert_eq!(less, planned);
    let gas = with("dived \"Rowan\" { cylinder \"S12-04\" from=205 to=95; }");
    assert!(gas.0[0] < planned.0[0] && gas.1 == planned.1);
    let bed = with("dived \"Rowan\" { bed first=70; }");
    assert!((bed.2.absorbent_min - 70.0).abs() < 1e-9 && planned.2.absorbent_min < 70.0);
    let longer = with("dived \"Rowan\" minutes=45 depth=31");
    let (more, less) = (longer.1.unwrap().tissues.inert_bar(), planned.1.unwrap().tissues.inert_bar());
    assert!(more.iter().zip(less).all(|(more, less)| *more >= less - 1e-12) && more[8] > less[8] + 0.01);
}

/// The sum over 24 hours, against the greatest of sums taken every hundredth of a minute from the two runs: dives of two
/// days at about the same hour, so that yesterday's leaves the window while today's goes.
#[test]
fn the_clock_of_24_hours_is_of_any_24_hours() {
    let plan = |day: u32, at: &str| {
        format!(
            "use \"club.kit.kdl\"\nplan \"Grund\" on=\"2027-05-{day}\" status=ready {{\n site surface=1.0\n dive \"one\" at={at:?} {{\n descend 25\n stay 40\n ascend 12\n stay 30\n ascend\n diver \"Rowan\" back=\"S12-04\"\n }}\n}}\n"
        )
    };
    // Today's hour against yesterday's at 10:00, in minutes.
    for (at, earlier) in
        [("09:40", 20.0), ("10:00", 0.0), ("10:30", -30.0), ("09:00", 60.0), ("11:30", -90.0), ("06:00", 240.0)]
    {
        let files = [
            ("a.plan.kdl".to_owned(), plan(15, "10:00")),
            ("b.plan.kdl".to_owned(), plan(16, at)),
            ("club.kit.kdl".to_owned(), KIT.to_owned()),
        ];
        let (archive, files) = unsaved(&files);
        let run = |file: &FileId| {
            all(&archive, file, |simulated| {
                let simulated = simulated.unwrap();
                (simulated.ran.clone(), simulated.carried.day)
            })
            .remove(0)
        };
        let ((yesterday, _), (today, carried)) = (run(&files[0]), run(&files[1]));
        let (yesterday, today) = (yesterday.rich_mix(), today.rich_mix());
        let (first, whole) = (yesterday.start().t_min, yesterday.end.t_min);
        let took = |t_min: f64| today.at(t_min).exposure.day;
        let left = |t_min: f64| {
            let gone =
                if t_min - earlier <= first { 0.0 } else { yesterday.at((t_min - earlier).min(whole)).exposure.day };
            yesterday.exposure().day - gone
        };
        let ends = today.end.t_min;
        let steps = (ends * 100.0) as u32;
        let greatest = (0..=steps)
            .map(|step| ends * f64::from(step) / f64::from(steps))
            .map(|t| took(t) + left(t))
            .fold(0.0, f64::max);
        let found = carried + today.exposure().day;
        // A minute at 1.3 bar is a 180th.
        assert!(found >= greatest - 1e-9 && found <= greatest + 1.0 / 150.0, "{at}: {found} {greatest}");
    }
}
