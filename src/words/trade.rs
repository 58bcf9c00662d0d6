//! Words of the trade that are no words of the language, and which of ours say them.

/// A word of the trade.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Term {
    /// The word.
    pub name: &'static str,
    /// What else it is called.
    pub also: &'static [&'static str],
    /// What it means, in a sentence or two.
    pub meaning: &'static str,
    /// Words of the language and rules that have to do with it.
    pub see: &'static [&'static str],
}

const fn term(
    name: &'static str,
    also: &'static [&'static str],
    meaning: &'static str,
    see: &'static [&'static str],
) -> Term {
    Term { name, also, meaning, see }
}

/// The words, in the order of the alphabet. What they mean is common practice; rules that go by a figure name its source.
pub(crate) const TERMS: &[Term] = &[
    term(
        "absorbent",
        &["scrubber material", "soda lime", "lime"],
        "What takes carbon dioxide out of a loop: granules in a canister. How long it lasts goes with the carbon dioxide that the diver makes, and falls with cold.",
        &["canister", "bed", "packed", "absorbent-short"],
    ),
    term(
        "acclimatised",
        &["acclimatisation"],
        "Whose tissues have come to rest with the air of an altitude, after half a day to a day there.",
        &["lives", "altitude-not-acclimatised"],
    ),
    term(
        "bailout",
        &["bail-out", "bailing out"],
        "Leaving the loop for open circuit, and the gas for it: enough to get home from the worst moment of the dive.",
        &["bail-out", "bailout-short", "stops"],
    ),
    term(
        "ceiling",
        &[],
        "The depth above which the diver may not go yet: the shallowest at which every tissue is still within its limit.",
        &["gradient", "ceiling-broken"],
    ),
    term(
        "closed circuit",
        &["ccr", "closed-circuit rebreather"],
        "A loop that is held at a partial pressure of oxygen by adding oxygen, and topped up with diluent.",
        &["unit", "set-point", "diluent"],
    ),
    term(
        "cns",
        &["cns %", "cns clock", "oxygen clock"],
        "How much of the time that may be spent at a partial pressure of oxygen is used, in percent, added up over a dive and over a day.",
        &["oxygen-clock"],
    ),
    term(
        "contingency",
        &["what if"],
        "The dive with one thing worse: a feed that fails, a cylinder lost, a diver out of breath. Each is run from its worst moment.",
        &["contingency-uncovered", "overrun"],
    ),
    term(
        "counterdiffusion",
        &["icd", "isobaric counterdiffusion"],
        "Nitrogen going into tissues faster than helium leaves them, after a change from a mix with helium to one with more nitrogen.",
        &["counterdiffusion"],
    ),
    term(
        "decompression",
        &["deco"],
        "Coming up slowly enough for dissolved gas to leave the body: by stops, or by the rate alone.",
        &["gradient", "stop", "stops", "decompression-long"],
    ),
    term(
        "diluent",
        &["dil"],
        "The gas that fills a closed loop beside the oxygen, and that is breathed where the loop is flushed.",
        &["diluent", "flush"],
    ),
    term(
        "ead",
        &["equivalent air depth"],
        "The depth at which air has the same partial pressure of nitrogen as the mix at its depth.",
        &["track"],
    ),
    term(
        "end",
        &["equivalent narcotic depth"],
        "The depth at which air is as narcotic as the mix at its depth.",
        &["narcosis-deep"],
    ),
    term(
        "gas density",
        &["density"],
        "The weight of a litre of what is breathed, g/L: from about 5 on breathing is work, over 6 it is a danger.",
        &["gas-dense"],
    ),
    term(
        "gradient factors",
        &["gf", "gradient factor"],
        "How much of the allowed overpressure of tissues is used, in percent: `low` at the first stop, `high` at the surface. Less is more conservative.",
        &["gradient", "gradient-missing"],
    ),
    term(
        "hypoxia",
        &["hypoxic"],
        "Too little oxygen. Under 0.16 bar a diver may lose consciousness without warning.",
        &["loop-below-floor", "ascent-hypoxia", "bailout-hypoxic"],
    ),
    term(
        "loop",
        &["breathing loop"],
        "The bag, hoses and canister that a rebreather's diver breathes from and back into.",
        &["unit", "loop"],
    ),
    term(
        "metabolic oxygen",
        &["vo2", "metabolism"],
        "Oxygen that the body uses, 0.5 to 3 L/min by work, whatever the depth.",
        &["oxygen", "mix-below-minimum"],
    ),
    term(
        "mod",
        &["maximum operating depth", "operating depth"],
        "The deepest that a mix may be breathed: where its partial pressure of oxygen reaches the limit.",
        &["po2", "mod-exceeded", "bailout-mod"],
    ),
    term(
        "nitrox",
        &["ean", "enriched air"],
        "Air with more oxygen: 32 % and 36 % are usual. Written `o2=32`.",
        &["fill", "mod-exceeded"],
    ),
    term(
        "no-stop time",
        &["ndl", "no-decompression limit", "no stop"],
        "How much longer the diver may stay and still come straight up at the planned rate.",
        &["no-stop-exceeded", "track"],
    ),
    term(
        "open circuit",
        &["oc", "scuba"],
        "Breathing from a cylinder and out into the water. Consumption grows with depth.",
        &["back", "gas", "endurance-short"],
    ),
    term(
        "otu",
        &["uptd", "oxygen tolerance units"],
        "What hours at raised oxygen do to the lungs, in units: one for each minute of pure oxygen at the surface.",
        &["oxygen-units"],
    ),
    term(
        "overhead",
        &["cave", "wreck", "ice"],
        "Something above the diver that bars the way up: rock, ice, a wreck's deck. The way out comes before the way up.",
        &["way", "way-in-long"],
    ),
    term(
        "passive semi-closed",
        &["passive scr", "pascr", "keyed"],
        "A rebreather that lets out a share of each breath and adds fresh gas as the bag empties: the feed follows the breathing.",
        &["unit", "spill"],
    ),
    term(
        "po2",
        &["ppo2", "partial pressure of oxygen"],
        "Oxygen's part of the pressure, bar: its fraction times the ambient pressure. 1.4 bar while working and 1.6 on stops are usual.",
        &["po2", "mod-exceeded", "set-point"],
    ),
    term(
        "pre-breathe",
        &["prebreathe"],
        "Breathing the loop for some minutes before the dive, to see that it takes out carbon dioxide and holds its oxygen.",
        &["pre-breathe"],
    ),
    term(
        "rebreather",
        &["ccr or scr"],
        "Apparatus that cleans what is breathed out and gives it back with oxygen added: semi-closed, passive or closed.",
        &["unit"],
    ),
    term(
        "reserve",
        &["rock bottom", "minimum gas"],
        "Pressure that stays in a cylinder, whatever happens.",
        &["reserve", "endurance-short"],
    ),
    term("run time", &["runtime"], "Minutes since leaving the surface.", &["stops", "track"]),
    term(
        "sac",
        &["rmv", "surface air consumption", "respiratory minute volume"],
        "What a diver breathes on open circuit, litres a minute at the surface.",
        &["gas"],
    ),
    term("safety stop", &[], "A few minutes at 5 m or so at the end of a dive that needs no stops.", &["safety-stop"]),
    term(
        "semi-closed",
        &["scr", "semi-closed rebreather"],
        "A rebreather that is fed with mix, by a constant flow or a controlled one, and lets the surplus out.",
        &["unit", "feed", "mix-below-minimum"],
    ),
    term(
        "set-point",
        &["setpoint", "sp"],
        "The oxygen that a loop is held at: a partial pressure on a closed one, percent or a pressure on a semi-closed one.",
        &["set-point", "set-point-unreachable"],
    ),
    term(
        "stage",
        &["stage cylinder", "drop cylinder"],
        "A cylinder that is carried a part of the way and left to be taken up on the way back.",
        &["drop", "take", "stage"],
    ),
    term(
        "travel gas",
        &["travel mix"],
        "A gas breathed on the way down, where the deeper one has too little oxygen to be breathed near the surface.",
        &["travel", "switch"],
    ),
    term(
        "trimix",
        &["tx"],
        "Oxygen, helium and nitrogen: less narcotic and less dense at depth. Written `o2=18 he=45`, shown as 18/45.",
        &["fill", "narcosis-deep", "counterdiffusion"],
    ),
    term(
        "turn pressure",
        &["turn", "turn time"],
        "The pressure at which the diver must turn home, so that what is left covers the way and the reserve.",
        &["turn-pressure"],
    ),
    term(
        "work",
        &["workload", "exertion"],
        "How hard the diver works: rest, light, moderate, heavy, peak. Oxygen and gas use go with it.",
        &["work", "oxygen", "gas"],
    ),
];

/// The word of the trade that goes by a name.
pub(crate) fn find(name: &str) -> Option<&'static Term> {
    let name = name.to_lowercase();
    TERMS.iter().find(|term| term.name == name || term.also.contains(&&*name))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::vocabulary;
    use std::collections::BTreeSet;

    #[test]
    fn what_is_named_is_there() {
        let props = || vocabulary().flat_map(|word| word.props.iter().map(|prop| prop.name));
        for see in TERMS.iter().flat_map(|term| term.see) {
            let is_word = vocabulary().any(|word| word.name == *see) || props().any(|prop| prop == *see);
            let is_rule = crate::rules::TABLE.iter().any(|rule| rule.slug == *see);
            assert!(is_word || is_rule || ["track", "stops"].contains(see), "{see}");
        }
    }

    #[test]
    fn each_is_there_once_and_in_order() {
        assert!(TERMS.is_sorted_by_key(|term| term.name));
        let mut all = BTreeSet::new();
        for name in TERMS.iter().flat_map(|term| std::iter::once(&term.name).chain(term.also)) {
            assert!(all.insert(*name) && *name == name.to_lowercase(), "{name}");
        }
        assert_eq!(find("NDL").map(|term| term.name), Some("no-stop time"));
    }
}
