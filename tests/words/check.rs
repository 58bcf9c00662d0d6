//! What the walker says of texts.

use std::path::{Path, PathBuf};

use leadsman::findings::FixKind;
use leadsman::source::Text;
use leadsman::syntax::Tree;
use leadsman::words::{FileKind, VocabularyError, VocabularyErrorKind, VocabularyFix, check, nearest, vocabulary};
use proptest::prelude::*;

fn errors(text: &str, kind: FileKind) -> Vec<VocabularyError> {
    check(&Tree::parse(text), kind)
}

/// A slip's kind, what it stands under, and its first mend's kind and text.
type Said = (VocabularyErrorKind, String, Option<(FixKind, String)>);

/// The slips of a text, each as its kind, what it stands under, and its first mend's text.
fn said(text: &str, kind: FileKind) -> Vec<Said> {
    let tell = |error: VocabularyError| {
        let fix = error.fixes.first().map(|fix| (fix.kind, fix.edits[0].1.clone()));
        (error.kind, text[error.span.range()].to_owned(), fix)
    };
    errors(text, kind).into_iter().map(tell).collect()
}

/// A plan around some lines.
fn plan(lines: &str) -> String {
    format!("plan \"Greyfen quarry, Saturday\" on=\"2027-05-15\" {{\n{lines}\n}}\n")
}

/// Asserts the one slip of a plan with some lines in it.
fn one(lines: &str, kind: VocabularyErrorKind, at: &str, fix: Option<(FixKind, &str)>) {
    let said = said(&plan(lines), FileKind::Plan);
    let fix = fix.map(|(kind, text)| (kind, text.to_owned()));
    assert_eq!(said, [(kind, at.to_owned(), fix)], "{lines}");
}

fn mended(text: &str, fix: &VocabularyFix) -> String {
    let mut edits = fix.edits.clone();
    edits.sort();
    edits.iter().rev().fold(Text::new(text), |text, (span, new)| text.edited(*span, new)).as_str().to_owned()
}

#[test]
fn misspelt_words_find_the_nearest_that_fits_the_place() {
    use FixKind::{Safe, Suggested};
    one("interval 60\nlimts { reserve 50; }", VocabularyErrorKind::UnknownWord, "limts", Some((Safe, "limits")));
    one("dive d { desend 5; }", VocabularyErrorKind::UnknownWord, "desend", Some((Safe, "descend")));
    one("dive d { bottom 5; }", VocabularyErrorKind::UnknownWord, "bottom", Some((Suggested, "stay")));
    one("dive d { stay 5 wrok=light; }", VocabularyErrorKind::UnknownWord, "wrok", Some((Safe, "work")));
    one("weather rain", VocabularyErrorKind::UnknownWord, "weather", None);
    let said = said("unit u kind=open { beds c-31; }", FileKind::Kit);
    assert_eq!(said, [(VocabularyErrorKind::UnknownWord, "beds".to_owned(), Some((Safe, "bed".to_owned())))]);
    // `depht` is near `depth`, which does not stand below a dive.
    one("dive d { depht 5; }", VocabularyErrorKind::UnknownWord, "depht", None);
}

#[test]
fn what_stands_below_a_misspelt_word_is_still_read() {
    let text = plan("site q { emergncy { evacuation (psi)45; }; }");
    let kinds: Vec<_> = errors(&text, FileKind::Plan).iter().map(|error| error.kind).collect();
    assert_eq!(kinds, [VocabularyErrorKind::UnknownWord, VocabularyErrorKind::UnitMismatch]);
}

#[test]
fn what_stands_below_a_word_nobody_understands_is_passed_over() {
    one("weather { wind north; sky { clouds 5; }; }", VocabularyErrorKind::UnknownWord, "weather", None);
}

#[test]
fn words_of_another_place_are_told_where_they_belong() {
    one("reserve 50", VocabularyErrorKind::Misplaced, "reserve", None);
    let message = |text: &str, kind| errors(text, kind)[0].message.text().to_owned();
    assert_eq!(
        message(&plan("reserve 50"), FileKind::Plan),
        "`reserve` can't stand below `plan`: it belongs below `limits`"
    );
    assert_eq!(
        message("plan p on=\"2027-05-15\"", FileKind::Kit),
        "`plan` can't stand at the top of a kit file: it belongs at the top of a plan file"
    );
    assert_eq!(
        message("cylinder c {\n size 12\n}", FileKind::Kit),
        "`size` is no line of its own: it stands on the line of `cylinder`, as `size=12`"
    );
    one("limits reserve=50", VocabularyErrorKind::Misplaced, "reserve", None);
    one("dive d { stay 20 light; }", VocabularyErrorKind::Misplaced, "light", Some((FixKind::Suggested, "work=light")));
    one("dive d { stay minutes=20; }", VocabularyErrorKind::Misplaced, "minutes", Some((FixKind::Safe, "")));
    one("dive d { stay 20 rate=9; }", VocabularyErrorKind::Misplaced, "rate", None);
    one("dive d { stay 20 until=30; }", VocabularyErrorKind::Misplaced, "until=30", None);
}

#[test]
fn limits_and_levels_stand_at_the_top_of_the_root_file_alone() {
    let text = "limits { reserve 50; }\nlevel \"cell-weak\" error\nuse \"a.kit.kdl\"\n";
    assert_eq!(errors(text, FileKind::House), []);
    let kinds: Vec<_> = errors(text, FileKind::Kit).iter().map(|error| error.kind).collect();
    assert_eq!(kinds, [VocabularyErrorKind::Misplaced, VocabularyErrorKind::Misplaced]);
}

#[test]
fn what_must_be_there_is_missed() {
    for (lines, at) in [
        ("dive", "dive"),
        ("dive d { descend; }", "descend"),
        ("dive d { stay; }", "stay"),
        ("dive d { stop 6; }", "stop"),
        ("limits { po2; }", "po2"),
        ("limits { gradient low=45; }", "gradient"),
        ("dive d { diver; }", "diver"),
    ] {
        one(lines, VocabularyErrorKind::MissingValue, at, None);
    }
    let kinds = |text| errors(text, FileKind::Plan).iter().map(|error| error.kind).collect::<Vec<_>>();
    assert_eq!(kinds("plan p"), [VocabularyErrorKind::MissingValue]);
    assert_eq!(kinds("plan p status=template"), []);
    assert_eq!(kinds(""), [VocabularyErrorKind::MissingValue]);
    // Misspelt is not missing.
    one("dive d { stop 6 minuts=3; }", VocabularyErrorKind::UnknownWord, "minuts", Some((FixKind::Safe, "minutes")));
}

#[test]
fn slips_of_a_tired_hand_are_mended_without_a_guess() {
    use FixKind::{Safe, Suggested};
    one("limits { gradient low=\"45%\" high=80; }", VocabularyErrorKind::WrongType, "\"45%\"", Some((Safe, "45")));
    one("dive d { descend \"35,8\"; }", VocabularyErrorKind::WrongType, "\"35,8\"", Some((Safe, "35.8")));
    one("dive d { descend \"92 ft\"; }", VocabularyErrorKind::WrongType, "\"92 ft\"", Some((Safe, "(ft)92")));
    one("limits { reserve 700; }", VocabularyErrorKind::OutOfRange, "700", Some((Suggested, "(psi)700")));
    one("limits { gradient low=0.45 high=80; }", VocabularyErrorKind::OutOfRange, "0.45", Some((Suggested, "45")));
    one("limits { gradient low=80 high=45; }", VocabularyErrorKind::OutOfRange, "45", None);
    one("dive d { descend (feet)92; }", VocabularyErrorKind::UnitMismatch, "(feet)", Some((Safe, "(ft)")));
    one("dive d { stay 20 min; }", VocabularyErrorKind::UnitMismatch, "min", Some((Safe, "(min)20")));
    one("dive d { descend 92 feet rate=9; }", VocabularyErrorKind::UnitMismatch, "feet", Some((Safe, "(ft)92")));
    one("dive d { descend (psi)92; }", VocabularyErrorKind::UnitMismatch, "(psi)", Some((Suggested, "")));
    one("dive d { stay 5 work=hevy; }", VocabularyErrorKind::WrongType, "hevy", Some((Safe, "heavy")));
    one("dive d at=\"9:40\"", VocabularyErrorKind::DateInvalid, "\"9:40\"", Some((Safe, "\"09:40\"")));
    one(
        "dive d { stay 5 work=light work=light; }",
        VocabularyErrorKind::DuplicateProperty,
        "work=light",
        Some((Safe, "")),
    );
    one(
        "dive d { stay 5 work=light work=heavy; }",
        VocabularyErrorKind::DuplicateProperty,
        "work=heavy",
        Some((Suggested, "")),
    );
}

#[test]
fn what_was_measured_is_left_to_who_measured_it() {
    let text = "cylinder c size=12 {\n fill 205 on=\"2027-05-14\" o2=0.35 analysed=0.348 analysed=0.351\n}\n";
    let fixes: Vec<_> = errors(text, FileKind::Kit).iter().map(|error| (error.kind, error.fixes.len())).collect();
    let range = VocabularyErrorKind::OutOfRange;
    // What was asked for may be mended; what the analyser said may not, nor one of two readings chosen.
    assert_eq!(fixes, [(range, 1), (range, 0), (VocabularyErrorKind::DuplicateProperty, 0)]);
}

#[test]
fn two_of_one_name_point_at_each_other() {
    let text = "cylinder c size=12\ncylinder c size=10\ncanister c\nrecord c { clean due=\"2028-01-01\"; }\nrecord c\n";
    let errors = errors(text, FileKind::Kit);
    assert_eq!(errors.len(), 1, "{errors:?}");
    assert_eq!(&text[errors[0].span.range()], "cylinder c size=10");
    assert_eq!(&text[errors[0].related[0].0.range()], "cylinder c size=12");
    one("limits { reserve 50; }\nlimits { reserve 60; }", VocabularyErrorKind::DuplicateName, "limits", None);
}

#[test]
fn a_cell_in_an_old_ones_place_is_no_double() {
    let cell = |fitted| format!("cell a fitted=\"{fitted}\" life=(months)12\n");
    let unit = |cells: &[String]| format!("unit u kind=open {{\n{}}}\n", cells.concat());
    assert_eq!(errors(&unit(&[cell("2026-01-10"), cell("2027-01-10")]), FileKind::Kit), []);
    let doubled = errors(&unit(&[cell("2026-01-10"), cell("2026-01-10")]), FileKind::Kit);
    assert_eq!(doubled.len(), 1);
    // Word for word the same: one of them may go.
    assert_eq!(
        mended(&unit(&[cell("2026-01-10"), cell("2026-01-10")]), &doubled[0].fixes[0]),
        unit(&[cell("2026-01-10")])
    );
}

#[test]
fn an_imperial_file_is_held_to_the_same_ranges() {
    let imperial = |lines: &str| format!("measures imperial\n{}", plan(lines));
    let kinds = |text: &str| errors(text, FileKind::Plan).iter().map(|error| error.kind).collect::<Vec<_>>();
    assert_eq!(kinds(&imperial("dive d { descend 400 rate=60; }\nlimits { reserve 700; }")), []);
    assert_eq!(
        kinds(&plan("dive d { descend 400 rate=60; }\nlimits { reserve 700; }")),
        [VocabularyErrorKind::OutOfRange; 2]
    );
}

#[test]
fn a_size_in_cubic_feet_needs_the_working_pressure() {
    let kinds = |text| errors(text, FileKind::Kit).iter().map(|error| error.kind).collect::<Vec<_>>();
    assert_eq!(kinds("cylinder c size=(cuft)80"), [VocabularyErrorKind::MissingValue]);
    assert_eq!(kinds("cylinder c size=(cuft)80 working=(psi)3000"), []);
}

#[test]
fn what_the_syntax_speaks_of_is_passed_over() {
    for text in [
        // The quote swallows the brace, so that the dive stands at the top and a brace closes nothing.
        "plan \"p\" on=\"2027-05-15 {\n    dive d {\n        descend 5\n        ascend\n    }\n}\n",
        "plan \"p\" on=2027-05-15 {\n    dive d at=09:40 {\n        descend 35,8\n        stay 12min\n    }\n}\n",
    ] {
        assert!(!Tree::parse(text).errors().is_empty());
        assert_eq!(errors(text, FileKind::Plan), [], "{text}");
    }
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let mut paths: Vec<PathBuf> = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            paths.extend(files(&path));
        } else if path.extension().is_some_and(|extension| extension == "kdl") {
            paths.push(path);
        }
    }
    paths.sort();
    paths
}

fn read(path: &Path) -> (String, FileKind) {
    let name = path.file_name().unwrap().to_str().unwrap();
    let bytes = std::fs::read(path).unwrap();
    (String::from_utf8_lossy(&bytes).into_owned(), FileKind::of_name(name).unwrap_or(FileKind::Plan))
}

#[test]
fn the_clubs_own_files_have_no_slips() {
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    for path in files(&examples).iter().filter(|path| !path.components().any(|part| part.as_os_str() == "flawed")) {
        let (text, kind) = read(path);
        assert_eq!(errors(&text, kind), [], "{}", path.display());
    }
}

#[test]
fn each_mend_takes_its_slip_away_and_brings_no_other() {
    let cases = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/rules");
    let mut tried = 0;
    for path in files(&cases) {
        let (text, kind) = read(&path);
        let before = errors(&text, kind);
        for fix in before.iter().flat_map(|error| &error.fixes) {
            let after = errors(&mended(&text, fix), kind);
            assert!(after.len() < before.len(), "{}: {}: {after:?}", path.display(), fix.title);
            tried += 1;
        }
    }
    assert!(tried > 30, "only {tried} mends");
}

/// Texts made of the language's own words and a few strangers, well formed or not.
fn texts() -> impl Strategy<Value = String> {
    let words: Vec<String> = vocabulary()
        .flat_map(|word| {
            word.args.iter().chain(word.props).map(|value| format!("{}=", value.name)).chain([word.name.to_owned()])
        })
        .chain(
            [
                "{",
                "}",
                ";",
                "\n",
                " ",
                "(psi)",
                "(ft)",
                "(x)",
                "12",
                "0.36",
                "-5",
                "1e400",
                "\"2027-05-15\"",
                "\"9:40\"",
                "\"35,8\"",
            ]
            .map(str::to_owned),
        )
        .chain(["35,8", "#true", "#null", "#nan", "light", "\"", "/-", "//", "é😀", "yes", "\\"].map(str::to_owned))
        .collect();
    prop::collection::vec(prop::sample::select(words), 0..60).prop_map(|words| words.join(" "))
}

proptest! {
    #![proptest_config(crate::seed::properties(200))]

    #[test]
    fn no_text_makes_the_walker_panic(text in prop_oneof![texts(), any::<String>()]) {
        for kind in [FileKind::Plan, FileKind::Kit, FileKind::House] {
            for error in errors(&text, kind) {
                prop_assert!(text.is_char_boundary(error.span.start as usize), "{error:?}");
                prop_assert!(text.is_char_boundary(error.span.end as usize), "{error:?}");
                prop_assert!(!error.message.text().is_empty());
                for fix in &error.fixes {
                    mended(&text, fix);
                }
            }
        }
    }

    #[test]
    fn the_nearest_word_does_not_hang_on_the_order_of_words(name in "[a-z-]{1,12}", turn in 0usize..40) {
        let mut words: Vec<&str> = vocabulary().map(|word| word.name).collect();
        let first = nearest(&name, words.iter().copied());
        words.rotate_left(turn);
        prop_assert_eq!(nearest(&name, words.iter().copied()), first);
        words.reverse();
        prop_assert_eq!(nearest(&name, words.iter().copied()), first);
    }

    #[test]
    fn a_slip_of_one_letter_finds_its_word_or_none(which in 0usize..40, at in 0usize..12, letter in "[a-z]") {
        let words: Vec<&str> = vocabulary().map(|word| word.name).filter(|name| name.len() > 4).collect();
        let word = words[which % words.len()];
        let mut written = word.to_owned();
        written.insert_str(at % word.len(), &letter);
        let found = nearest(&written, words.iter().copied());
        prop_assert!(found.is_none() || strsim::damerau_levenshtein(&written, found.unwrap()) <= 1, "{written} {found:?}");
    }
}
