//! Whatever is edited, bit by bit: what is found is what a fresh archive of the same text finds.
#![no_main]

use std::sync::Arc;

use leadsman::archive::{Archive, Change, Memory};
use leadsman::source::{FileId, Span, Text};
use libfuzzer_sys::fuzz_target;

const KIT: &str = "diver \"Rowan\"\ncylinder \"S12-04\" size=12 { fill 200 on=\"2027-05-14\" o2=32 analysed=32; }\n";

fuzz_target!(|bytes: &[u8]| {
    let host = Arc::new(Memory::new().file("/club/kit.kit.kdl", KIT));
    let file = FileId::new("a.plan.kdl");
    let mut archive = Archive::open(host.clone(), "/club".as_ref());
    let mut text = Text::new("");
    // Zero bytes part the edits; each begins with where it stands and how much it takes out, in 256ths of the text.
    for edit in bytes.split(|byte| *byte == 0).take(12) {
        let (at, takes, puts) = match edit {
            [at, takes, puts @ ..] => (u32::from(*at), u32::from(*takes), puts),
            puts => (0, 0, puts),
        };
        let start = text.len() * at / 256;
        let span = Span::new(start, start + (text.len() - start) * takes / 256);
        text = text.edited(span, &String::from_utf8_lossy(puts));
        archive = archive.with(&[Change::Open(file.clone(), text.clone())]);
        let fresh = Archive::open(host.clone(), "/club".as_ref());
        let fresh = fresh.with(&[Change::Open(file.clone(), Text::new(text.as_str()))]);
        assert_eq!(archive.findings(&file), fresh.findings(&file), "{:?}", text.as_str());
    }
});
