//! How the rules say numbers: few digits, rounded the way that never flatters the plan.

use crate::findings::{Said, Told, said};
use crate::physics::{Mix, tolerance};

/// Rounds down to a multiple of `step`.
pub(crate) fn down(value: f64, step: f64) -> f64 {
    // A hair above a multiple is taken for it: 30.000000001 must not become 29.5 by way of 29.999…
    (value / step + 1e-9).floor() * step
}

/// Rounds up to a multiple of `step`.
pub(crate) fn up(value: f64, step: f64) -> f64 {
    (value / step - 1e-9).ceil() * step
}

/// A number with as many decimals as it needs, two at most.
pub(crate) fn number(value: f64) -> Told {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    Told::new(if text == "-0" { "0".to_owned() } else { text.to_owned() })
}

/// A number with one decimal.
pub(crate) fn tenths(value: f64) -> Told {
    Told::new(format!("{value:.1}"))
}

/// A number with three decimals.
pub(crate) fn thousandths(value: f64) -> Told {
    Told::new(format!("{value:.3}"))
}

/// A percentage of a gas from a fraction, one decimal, rounded up: for what is needed.
pub(crate) fn percent_needed(fraction: f64) -> Told {
    number(up(fraction * 100.0, 0.1))
}

/// The greatest percentage of a gas from a fraction, one decimal, rounded down.
pub(crate) fn percent_at_most(fraction: f64) -> Told {
    number(down(fraction * 100.0, 0.1))
}

/// A percentage of loop oxygen from a fraction, rounded down to half a point: for what can be had.
pub(crate) fn percent_had(fraction: f64) -> Told {
    number(down(fraction * 100.0, 0.5))
}

/// An operating depth in whole metres, rounded down.
pub(crate) fn operating_depth(depth_m: f64) -> Told {
    number(down(depth_m.max(0.0), 1.0))
}

/// A span of minutes in whole minutes, rounded down: for what lasts.
pub(crate) fn minutes_had(minutes: f64) -> Told {
    number(down(minutes.max(0.0), 1.0))
}

/// A moment of a dive, whole minutes since leaving the surface, rounded down.
pub(crate) fn into_the_dive(minutes: f64) -> Said {
    let minute = minutes_had(minutes);
    match minutes {
        _ if minutes < -tolerance::INSTANT_MIN => {
            said!("before leaving the surface").with("minute", number(down(minutes, 1.0)))
        }
        _ if minutes < tolerance::INSTANT_MIN => said!("on leaving the surface").with("minute", minute),
        _ if minutes < 1.0 => said!("within the first minute").with("minute", minute),
        _ => said!("{minute} min into the dive", minute),
    }
}

/// A moment of a dive and where the diver is then, in whole metres, rounded up.
pub(crate) fn moment(minutes: f64, depth_m: f64) -> Said {
    match depth_m {
        _ if minutes < tolerance::INSTANT_MIN => into_the_dive(minutes),
        _ if depth_m < 0.05 => said!("{moment}, at the surface", moment = into_the_dive(minutes)),
        _ => said!("{moment}, at {depth} m", moment = into_the_dive(minutes), depth = number(up(depth_m, 1.0))),
    }
}

/// A partial pressure of oxygen that was had, bar, rounded down.
pub(crate) fn po2_had(bar: f64) -> Told {
    if bar < 0.01 { Told::new("less than 0.01".to_owned()) } else { number(down(bar, 0.01)) }
}

/// A pressure that is needed or turned at, rounded up to 5 bar.
pub(crate) fn pressure_needed(bar: f64) -> Told {
    number(up(bar, 5.0))
}

/// A run time as minutes and seconds, to the nearest second: `33:40`; before leaving the surface `−5:00`.
pub(crate) fn run_time(minutes: f64) -> Told {
    let seconds = (minutes * 60.0).round();
    let sign = if seconds < 0.0 { "−" } else { "" };
    let seconds = seconds.abs();
    Told::new(format!("{sign}{}:{:02}", number((seconds / 60.0).floor()), (seconds % 60.0) as u32))
}

/// A partial pressure of oxygen in bar with two decimals, to the nearest: neither way is the safe one.
pub(crate) fn po2(bar: f64) -> Told {
    Told::new(format!("{bar:.2}"))
}

/// A mix as the trade names it: air, oxygen, oxygen and helium by their percentages where there is helium, else oxygen's.
pub(crate) fn mix(mix: Mix) -> String {
    let o2 = number(percent(mix.o2));
    match (mix.o2, mix.he) {
        (_, he) if he >= 0.0005 => format!("{o2}/{}", number(percent(he))),
        (o2, _) if o2 >= 0.9995 => "oxygen".to_owned(),
        (o2, _) if (0.2085..=0.2105).contains(&o2) => "air".to_owned(),
        _ => format!("{o2} %"),
    }
}

/// A percentage of a fraction, to one decimal.
fn percent(fraction: f64) -> f64 {
    (fraction * 1000.0).round() / 10.0
}

/// Pressure left in a cylinder, rounded down to 1 bar.
pub(crate) fn pressure_had(bar: f64) -> Told {
    number(down(bar.max(0.0), 1.0))
}

/// An oxygen clock in whole percent of its limit from a share, rounded up.
pub(crate) fn clock_percent(share: f64) -> Told {
    number(up(share.max(0.0) * 100.0, 1.0))
}

/// Pulmonary units, whole, rounded up.
pub(crate) fn units(units: f64) -> Told {
    number(up(units.max(0.0), 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_are_told_as_a_diver_would() {
        let told = [(-3.0, 0.0), (0.0, 0.0), (0.5, 6.2), (12.9, 18.0), (40.0, 0.0)]
            .map(|(t, depth)| moment(t, depth).to_string());
        let wanted = [
            "before leaving the surface",
            "on leaving the surface",
            "within the first minute, at 7 m",
            "12 min into the dive, at 18 m",
            "40 min into the dive, at the surface",
        ];
        assert_eq!(told, wanted);
        assert_eq!(
            [po2_had(0.0), po2_had(0.009), po2_had(0.159)].map(String::from),
            ["less than 0.01", "less than 0.01", "0.15"]
        );
    }

    #[test]
    fn numbers_keep_only_the_digits_they_need() {
        assert_eq!([number(30.0), number(1.405), number(0.999), number(-0.001)], ["30", "1.41", "1", "0"]);
    }

    #[test]
    fn needs_round_up_and_holdings_down() {
        assert_eq!(percent_needed(0.30115), "30.2");
        assert_eq!(percent_had(0.26044), "26");
        assert_eq!(operating_depth(33.75), "33");
        // 54.47 bar of gas on top of 20 that can't be had: printed as 75.
        assert_eq!(pressure_needed(74.47), "75");
        assert_eq!(percent_had(0.27), "27");
        assert_eq!(percent_needed(0.31), "31");
        assert_eq!([pressure_had(118.9), pressure_had(-3.0)], ["118", "0"]);
        assert_eq!([clock_percent(0.201), units(12.01)], ["21", "13"]);
    }

    #[test]
    fn mixes_are_named_as_the_trade_does() {
        let of = |o2: f64, he: f64| mix(Mix { o2, he });
        assert_eq!([of(0.2095, 0.0), of(0.21, 0.0), of(1.0, 0.0)], ["air", "air", "oxygen"]);
        assert_eq!(
            [of(0.32, 0.0), of(0.319, 0.0), of(0.18, 0.45), of(0.211, 0.349)],
            ["32 %", "31.9 %", "18/45", "21.1/34.9"]
        );
    }

    #[test]
    fn run_times_count_seconds() {
        assert_eq!(
            [run_time(33.667), run_time(-5.0), run_time(0.9999), run_time(120.0)],
            ["33:40", "−5:00", "1:00", "120:00"]
        );
    }
}
