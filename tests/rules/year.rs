//! A club's year: plans that are ready, of every kind of dive it does. Each raises above a note exactly what its second line
//! says it should.

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;

use leadsman::archive::{Archive, Disk};
use leadsman::findings::Level;

use super::findings;

#[test]
fn each_plan_of_the_year_raises_what_it_should() {
    let archive = Archive::open(Arc::new(Disk), &Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/year"));
    let files = archive.walk(&[]);
    let mut plans = 0;
    for file in &files {
        let text = archive.text(file).unwrap();
        let expects = text.as_str().lines().find_map(|line| line.strip_prefix("// expects: "));
        plans += usize::from(expects.is_some());
        let wanted: BTreeSet<&str> =
            expects.into_iter().flat_map(|all| all.split(", ")).filter(|slug| *slug != "nothing").collect();
        let found = findings(&archive, std::slice::from_ref(file));
        let graver = || found.iter().filter(|finding| finding.level > Level::Note);
        let raised: BTreeSet<&str> = graver().map(|finding| &*finding.rule).collect();
        let said: Vec<&String> = graver().map(|finding| &finding.message).collect();
        assert_eq!(raised, wanted, "{file}: {said:#?}");
    }
    assert_eq!(plans, 27);
    let report = archive.check(&files, &|| ());
    assert!(report.lacking.is_empty(), "{:#?}", report.lacking);
    assert_eq!(report.dives.simulated, report.dives.planned);
}
