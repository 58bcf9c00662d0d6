//! What a case says of itself: under a value a comment with carets, `// ^^^`, and in it or in a comment of its own what
//! the finding there says, `expect: 15 min`.

use leadsman::archive::Archive;
use leadsman::findings::{Finding, Level};
use leadsman::source::{Encoding, FileId, Position, Span, Text};

/// One expectation.
#[derive(Debug, PartialEq)]
struct Mark {
    /// Where the finding stands; anywhere in the file where no carets say.
    at: Option<Span>,
    /// What its message holds.
    says: Option<String>,
}

/// The marks of a text, in order; why one can't be read.
fn marks(text: &Text) -> Result<Vec<Mark>, String> {
    let mut marks = Vec::new();
    // The last line that is no mark: what carets point at.
    let mut above = None;
    for (number, line) in text.as_str().lines().enumerate() {
        let (before, says) = match line.split_once("expect:") {
            Some((before, says)) => (before, Some(says.trim().to_owned())),
            None => (line, None),
        };
        let comment = before.trim_start().strip_prefix("//");
        let Some(carets) = comment.map(str::trim).filter(|it| it.bytes().all(|byte| byte == b'^')) else {
            above = Some(number);
            continue;
        };
        if carets.is_empty() && says.is_none() {
            continue;
        }
        if says.as_ref().is_some_and(String::is_empty) {
            return Err(format!("line {}: nothing is expected", number + 1));
        }
        let at = match (carets.len(), above) {
            (0, _) => None,
            (_, None) => return Err(format!("line {}: there is nothing above", number + 1)),
            (width, Some(above)) => {
                let column = before.chars().count() - before.trim_start_matches(|c| c != '^').chars().count();
                let offset = |column: usize| {
                    let (line, column) = (u32::try_from(above).unwrap(), u32::try_from(column).unwrap());
                    text.offset(Position { line, column }, Encoding::Utf32)
                };
                Some(Span::new(offset(column), offset(column + width)))
            }
        };
        marks.push(Mark { at, says });
    }
    Ok(marks)
}

/// What of the marks of some files doesn't hold of the findings that a rule raised in them. In a file with carets each
/// finding has its own.
pub fn wrong(archive: &Archive, files: &[FileId], raised: &[&Finding]) -> Vec<String> {
    let mut wrong = Vec::new();
    for file in files {
        let Ok(text) = archive.text(file) else { continue };
        let marks = match marks(&text) {
            Ok(marks) => marks,
            Err(why) => {
                wrong.push(format!("{file}: {why}"));
                continue;
            }
        };
        let here: Vec<&&Finding> = raised.iter().filter(|finding| finding.place.file == *file).collect();
        let meets = |mark: &Mark, finding: &Finding| {
            mark.at.is_none_or(|at| at == finding.place.span)
                && mark.says.as_ref().is_none_or(|says| finding.message.contains(says.as_str()))
        };
        for mark in marks.iter().filter(|mark| !here.iter().any(|finding| meets(mark, finding))) {
            let at = mark.at.map_or(String::new(), |at| format!(" at `{}`", text.slice(at)));
            wrong.push(format!("{file}: there is no finding{at} that says {:?}", mark.says.as_deref().unwrap_or("")));
        }
        let marked = |finding: &Finding| marks.iter().any(|mark| mark.at == Some(finding.place.span));
        if marks.iter().any(|mark| mark.at.is_some()) {
            let unmarked = here.iter().filter(|finding| !marked(finding));
            wrong.extend(unmarked.map(|finding| format!("{file}: this has no mark: {}", finding.message)));
        }
    }
    wrong
}

#[test]
fn marks_are_read_and_held() {
    let name = FileId::new("x.plan.kdl");
    let text = "// é is one wide\n    stay é30\n//        ^^ expect: 15 min\n// expect: 3 m\n// a remark\nascend // ^^ no mark\n";
    let read = marks(&Text::new(text)).unwrap();
    let at = text.find("30").unwrap() as u32;
    let span = Span::new(at, at + 2);
    assert_eq!(
        read,
        [Mark { at: Some(span), says: Some("15 min".to_owned()) }, Mark { at: None, says: Some("3 m".to_owned()) }]
    );
    assert!(marks(&Text::new("// ^^\nx")).is_err() && marks(&Text::new("x\n// ^ expect: ")).is_err());

    let (archive, files) = super::unsaved(&[(name.to_string(), text.to_owned())]);
    let found = |span: Span, message: &str| {
        let place = leadsman::source::Place::new(name.clone(), span);
        Finding::new("x", Level::Note, place, message)
    };
    let held = |found: &[Finding]| wrong(&archive, &files, &found.iter().collect::<Vec<_>>()).len();
    let good = found(span, "15 min, and 3 m");
    assert_eq!(held(std::slice::from_ref(&good)), 0);
    assert_eq!(held(&[]), 2);
    assert_eq!(held(&[found(span, "15 min")]), 1, "the other number is missing");
    assert_eq!(held(&[found(Span::new(at, at + 1), "15 min, and 3 m")]), 2, "beside the mark, and not marked");
    assert_eq!(held(&[good, found(Span::new(0, 1), "more")]), 1, "one more, not marked");
}
