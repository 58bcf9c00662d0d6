//! Whatever stands in an archive's files: a check ends, nothing panics, findings lie in their texts, and every page carries
//! the caution.
#![no_main]

#[path = "../files.rs"]
mod files;

use leadsman::CAUTION;
use leadsman::pages::screen::Drawing;
use leadsman::pages::{Checked, Sheet, json, line, screen};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let archive = files::archive(bytes);
    let report = archive.check(&archive.walk(&[]), &|| ());
    for (file, findings) in &report.files {
        for finding in findings {
            assert_eq!(&finding.place.file, file);
            files::lies_in_its_text(&archive, &finding.place);
            finding.related.iter().for_each(|related| files::lies_in_its_text(&archive, &related.place));
        }
    }
    let sheet = Sheet::new(vec![Checked { archive, report }], files::ROOT.as_ref());
    let drawn = |write: &dyn Fn(&mut Vec<u8>)| {
        let mut out = Vec::new();
        write(&mut out);
        // The screen breaks lines where it must.
        let said = String::from_utf8(out).unwrap().split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(said.contains(CAUTION), "{said}");
    };
    drawn(&|out| screen::write(out, &sheet, Drawing { width: 100, colour: false, lacking: true, statistics: true }).unwrap());
    drawn(&|out| line::write(out, &sheet, true).unwrap());
    drawn(&|out| json::write(out, &sheet).unwrap());
});
