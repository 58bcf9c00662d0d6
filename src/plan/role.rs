//! What a cylinder is taken for.

use std::fmt;

use super::ApparatusKind;
use crate::findings::texts;
use crate::words::LimitName;

texts!(Role);

/// What a cylinder is taken for on a dive.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Role {
    /// Breathed on open circuit.
    Back,
    /// Feeds a semi-closed loop.
    Supply,
    /// Breathed on stops.
    Deco,
    /// The diver's own, to get out on.
    Bailout,
    /// Breathed on the way.
    Travel,
    /// Keeps a closed loop's volume.
    Diluent,
    /// Feeds a closed loop's controller.
    Oxygen,
    /// A buddy's, for whoever is in need.
    Spare,
    /// For part of the way: breathed where the legs say so, left behind and taken up again, and a way out where it is with
    /// the diver.
    Stage,
}

impl Role {
    /// All roles, in the order of the vocabulary.
    pub const ALL: [Role; 9] = [
        Role::Back,
        Role::Supply,
        Role::Deco,
        Role::Bailout,
        Role::Travel,
        Role::Diluent,
        Role::Oxygen,
        Role::Spare,
        Role::Stage,
    ];

    /// The word that a plan uses.
    pub const fn word(self) -> &'static str {
        match self {
            Role::Back => "back",
            Role::Supply => "supply",
            Role::Deco => "deco",
            Role::Bailout => "bailout",
            Role::Travel => "travel",
            Role::Diluent => "diluent",
            Role::Oxygen => "oxygen",
            Role::Spare => "spare",
            Role::Stage => "stage",
        }
    }

    /// The role of a word.
    pub fn of_word(word: &str) -> Option<Role> {
        Role::ALL.into_iter().find(|role| role.word() == word)
    }

    /// The limit on the PO2 at which its gas may be breathed.
    pub const fn po2_limit(self) -> LimitName {
        match self {
            Role::Deco => LimitName::Po2Deco,
            Role::Bailout | Role::Spare => LimitName::Po2Bailout,
            Role::Supply => LimitName::Po2Supply,
            Role::Back | Role::Travel | Role::Diluent | Role::Oxygen | Role::Stage => LimitName::Po2Working,
        }
    }

    /// The roles that feed apparatus of a kind, the one that its diver breathes most of first.
    pub const fn feeding(kind: ApparatusKind) -> &'static [Role] {
        match kind {
            ApparatusKind::Open => &[Role::Back],
            ApparatusKind::SemiClosed | ApparatusKind::Passive => &[Role::Supply],
            ApparatusKind::Closed => &[Role::Diluent, Role::Oxygen],
        }
    }

    /// Whether it feeds apparatus of any kind.
    pub fn feeds(self) -> bool {
        ApparatusKind::ALL.into_iter().any(|kind| Role::feeding(kind).contains(&self))
    }

    /// Whether it is carried to get out on.
    pub const fn is_to_get_out_on(self) -> bool {
        matches!(self, Role::Bailout | Role::Spare)
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::{Quantity, vocabulary};

    /// What the vocabulary lets a writer say is what there is.
    #[test]
    fn the_words_of_the_vocabulary_are_the_roles() {
        let all: Vec<&str> = Role::ALL.into_iter().map(Role::word).collect();
        let mut looked = 0;
        for word in vocabulary() {
            for value in word.args.iter().chain(word.props) {
                match value.quantity {
                    Quantity::OneOf(words) if words.contains(&"deco") => {
                        let known = |word: &&str| *word == "none" || Role::of_word(word).is_some();
                        assert!(words.iter().all(known), "{} {}", word.id, value.name);
                        assert!(value.name != "role" || words == all, "{} {}", word.id, value.name);
                        looked += 1;
                    }
                    _ => {}
                }
            }
        }
        assert!(looked >= 3, "{looked}");
    }
}
