//! The vocabulary in words: what a value takes, how a word is written, where it belongs.

use super::table::{ANYWHERE, HOUSE_TOP, PLAN_TOP, TOP, rows};
use super::{Measures, NodeDef, Quantity, ValueDef};

impl Quantity {
    /// What kind of value it is: "a depth".
    pub const fn noun(self) -> &'static str {
        match self {
            Quantity::Depth => "a depth",
            Quantity::Altitude => "an altitude",
            Quantity::Gauge => "a pressure",
            Quantity::Partial => "a partial pressure",
            Quantity::Absolute => "an air pressure",
            Quantity::Volume => "a volume",
            Quantity::Size => "a cylinder's size",
            Quantity::Flow => "a flow",
            Quantity::Uptake => "a flow",
            Quantity::Rate => "a rate",
            Quantity::Duration => "a time",
            Quantity::Life => "a span of calendar time",
            Quantity::Temperature => "a temperature",
            Quantity::Voltage => "a voltage",
            Quantity::Mass => "a weight",
            Quantity::Density => "a density",
            Quantity::Percent => "a percentage",
            Quantity::Number => "a number",
            Quantity::Count => "a whole number",
            Quantity::Date => "a date",
            Quantity::Time => "a time of day",
            Quantity::Text => "a text",
            Quantity::Name => "a name",
            Quantity::Path => "a path",
            Quantity::OneOf(_) => "a word",
            Quantity::YesNo => "`yes` or `no`",
            Quantity::SetPoint => "a set-point",
        }
    }

    /// The words for the unit of a bare number: "metres"; empty where there is no unit.
    pub fn unit_words(self, measures: Measures) -> &'static str {
        match (self, measures) {
            (Quantity::Depth | Quantity::Altitude, Measures::Metric) => "metres",
            (Quantity::Depth | Quantity::Altitude, Measures::Imperial) => "feet",
            (Quantity::Gauge | Quantity::Absolute, Measures::Imperial) => "psi",
            (Quantity::Gauge | Quantity::Absolute | Quantity::Partial, _) => "bar",
            (Quantity::Volume | Quantity::Size, Measures::Metric) => "litres",
            (Quantity::Volume | Quantity::Size, Measures::Imperial) => "cubic feet",
            (Quantity::Flow, Measures::Metric) | (Quantity::Uptake, _) => "litres a minute",
            (Quantity::Flow, Measures::Imperial) => "cubic feet a minute",
            (Quantity::Rate, Measures::Metric) => "metres a minute",
            (Quantity::Rate, Measures::Imperial) => "feet a minute",
            (Quantity::Duration, _) => "minutes",
            (Quantity::Life, _) => "months",
            (Quantity::Temperature, Measures::Metric) => "°C",
            (Quantity::Temperature, Measures::Imperial) => "°F",
            (Quantity::Voltage, _) => "millivolts",
            (Quantity::Mass, Measures::Metric) => "kilograms",
            (Quantity::Mass, Measures::Imperial) => "pounds",
            (Quantity::Density, _) => "kilograms a cubic metre",
            (Quantity::Percent, _) => "percent",
            _ => "",
        }
    }

    /// What the quantity takes, in full: "a depth in metres".
    pub fn takes(self, measures: Measures) -> String {
        match self {
            Quantity::OneOf(words) => list(words.iter().map(|word| format!("`{word}`")), "or"),
            Quantity::Date => "a date, \"2027-05-15\"".to_owned(),
            Quantity::Time => "a time of day, \"09:40\"".to_owned(),
            Quantity::Life => "a span of calendar time with its unit, `(months)12`".to_owned(),
            Quantity::SetPoint => "a set-point: percent of oxygen from 21 up, or bar from 1.6 down".to_owned(),
            Quantity::Percent => "a number of percent".to_owned(),
            _ => match self.unit_words(measures) {
                "" => self.noun().to_owned(),
                unit => format!("{} in {unit}", self.noun()),
            },
        }
    }
}

impl ValueDef {
    /// The range of what can be meant, in the unit of bare numbers: "0 to 350 metres".
    pub fn range_words(&self, measures: Measures) -> Option<String> {
        if self.quantity == Quantity::SetPoint {
            return Some("21 to 100 percent, or 0.2 to 1.6 bar".to_owned());
        }
        let (least, greatest) = self.range?;
        let unit = self.quantity.bare_unit(measures);
        let bare = |inside: f64| number(unit.map_or(inside, |unit| inside / unit.factor + unit.zero));
        // A size as free gas has no water volume until the working pressure is known.
        let (measures, bare): (_, &dyn Fn(f64) -> String) = match self.quantity {
            Quantity::Size => (Measures::Metric, &number),
            _ => (measures, &bare),
        };
        let words = self.quantity.unit_words(measures);
        let gap = if words.is_empty() { "" } else { " " };
        Some(format!("{} to {}{gap}{words}", bare(least), bare(greatest)))
    }

    /// What the value takes, with its range and what holds without it, in a sentence.
    pub fn takes(&self, measures: Measures) -> String {
        let mut takes = self.quantity.takes(measures);
        if let Some(range) = self.range_words(measures).filter(|_| self.quantity != Quantity::SetPoint) {
            takes += &format!(", {range}");
        }
        if let Some(default) = self.default_written(measures).filter(|_| !self.required) {
            takes += &format!("; `{default}` unless said");
        }
        takes
    }

    /// What holds where the value is left out, as a file of these measures would write it.
    pub fn default_written(&self, measures: Measures) -> Option<String> {
        let default = self.default?;
        let (metric, own) = (self.quantity.bare_unit(Measures::Metric), self.quantity.bare_unit(measures));
        Some(match metric {
            // The table's defaults are metric, and a bare number here would be another quantity.
            Some(metric) if own != Some(metric) => format!("({}){default}", metric.name),
            _ => default.to_owned(),
        })
    }
}

impl NodeDef {
    /// How the word is written: `descend TO [rate=] [work=]`.
    pub fn usage(&self) -> String {
        let mut usage = self.name.to_owned();
        let brace = |text: String, required: bool| if required { format!(" {text}") } else { format!(" [{text}]") };
        for arg in self.args {
            usage += &brace(arg.name.to_uppercase().replace('-', "_"), arg.required);
        }
        for prop in self.props {
            usage += &brace(format!("{}=", prop.name), prop.required);
        }
        if self.has_words_below() {
            usage += " { … }";
        }
        usage
    }

    /// Whether any word but `allow` stands below it.
    pub fn has_words_below(&self) -> bool {
        rows().any(|word| word.below.contains(&self.id))
    }

    /// Where the word belongs: "below `dive` or `repeat`".
    pub fn belongs(&self) -> String {
        let mut tops = Vec::new();
        let mut words: Vec<&str> = Vec::new();
        for place in self.below {
            match *place {
                TOP => tops.push("at the top of a file".to_owned()),
                PLAN_TOP => tops.push("at the top of a plan file".to_owned()),
                HOUSE_TOP => tops.push("at the top of `leadsman.kdl`".to_owned()),
                ANYWHERE => tops.push("anywhere".to_owned()),
                id => words.extend(rows().find(|word| word.id == id).map(|word| word.name)),
            }
        }
        words.dedup();
        let mut unique: Vec<String> = Vec::new();
        for word in words.iter().map(|word| format!("`{word}`")) {
            if !unique.contains(&word) {
                unique.push(word);
            }
        }
        if !unique.is_empty() {
            tops.push(format!("below {}", list(unique.into_iter(), "or")));
        }
        list(tops.into_iter(), "or")
    }

    /// The word's page in Markdown, as hover shows it: how it is written, what it means, what its values take.
    pub fn hover(&self, measures: Measures) -> String {
        let mut page = format!("`{}`\n\n{}\n", self.usage(), self.meaning);
        if !self.args.is_empty() || !self.props.is_empty() {
            page += "\n";
        }
        for arg in self.args {
            page += &format!("- *{}*: {} ({})\n", arg.name, arg.meaning, arg.takes(measures));
        }
        for prop in self.props {
            page += &format!("- `{}=`: {} ({})\n", prop.name, prop.meaning, prop.takes(measures));
        }
        page
    }
}

impl ValueDef {
    /// The page of an argument or property in Markdown, as hover shows it.
    pub fn hover(&self, measures: Measures) -> String {
        format!("**{}**: {}\n\nTakes {}.\n", self.name, self.meaning, self.takes(measures))
    }
}

/// A number as a person writes it: the fewer decimals, the larger it is.
pub(super) fn number(number: f64) -> String {
    let scale = match number.abs() {
        0.0..10.0 => 100.0,
        10.0..100.0 => 10.0,
        _ => 1.0,
    };
    format!("{}", (number * scale).round() / scale)
}

/// Things one after another: "a, b or c".
pub(super) fn list(things: impl Iterator<Item = String>, last: &str) -> String {
    let things: Vec<String> = things.collect();
    match things.split_last() {
        None => String::new(),
        Some((only, [])) => only.clone(),
        Some((end, rest)) => format!("{} {last} {end}", rest.join(", ")),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn word(id: &str) -> &'static NodeDef {
        rows().find(|word| word.id == id).unwrap()
    }

    #[test]
    fn a_word_is_shown_as_it_is_written() {
        assert_eq!(word("descend").usage(), "descend DEPTH [rate=] [work=] [way=] [exit=]");
        assert_eq!(word("stop").usage(), "stop DEPTH minutes= [rate=] [work=]");
        assert_eq!(word("gradient").usage(), "gradient low= high=");
        assert_eq!(word("limits").usage(), "limits { … }");
        assert_eq!(word("on-loop").usage(), "on-loop [who=] [work=]");
    }

    #[test]
    fn a_word_belongs_where_the_table_says() {
        assert_eq!(word("reserve").belongs(), "below `limits`");
        assert_eq!(word("descend").belongs(), "below `dive`, `diver`, `otherwise` or `repeat`");
        assert_eq!(word("limits").belongs(), "at the top of `leadsman.kdl` or below `plan`");
        // Both kinds of site are one word to the reader.
        assert_eq!(word("emergency").belongs(), "below `site`");
        assert_eq!(word("allow").belongs(), "anywhere");
    }

    #[test]
    fn a_value_says_what_it_takes_in_the_files_own_measures() {
        let depth = &word("limits depth").args[0];
        assert_eq!(depth.takes(Measures::Metric), "a depth in metres, 1 to 350 metres");
        assert_eq!(depth.takes(Measures::Imperial), "a depth in feet, 3.28 to 1148 feet");
        let temperature = word("site").prop("temperature").unwrap();
        assert_eq!(temperature.range_words(Measures::Imperial).unwrap(), "28.4 to 104 °F");
        let least = word("po2").prop("least").unwrap();
        assert_eq!(least.takes(Measures::Imperial), "a partial pressure in bar, 0.16 to 0.5 bar; `0.18` unless said");
        let shallowest = &word("shallowest-stop").args[0];
        assert_eq!(shallowest.default_written(Measures::Metric).unwrap(), "3");
        assert_eq!(shallowest.default_written(Measures::Imperial).unwrap(), "(m)3");
        let status = word("plan").prop("status").unwrap();
        assert_eq!(status.takes(Measures::Metric), "`template`, `draft`, `ready` or `dived`; `draft` unless said");
        let set_point = &word("set-point").args[0];
        assert_eq!(
            set_point.takes(Measures::Metric),
            "a set-point: percent of oxygen from 21 up, or bar from 1.6 down"
        );
    }

    #[test]
    fn hover_has_every_value_of_a_word() {
        for word in rows() {
            let page = word.hover(Measures::Metric);
            assert!(page.contains(word.meaning) && page.contains(&word.usage()), "{page}");
            assert!(word.args.iter().chain(word.props).all(|value| page.contains(value.meaning)), "{page}");
        }
    }
}
