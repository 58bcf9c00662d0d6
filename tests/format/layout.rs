//! How files are laid out.

use super::formatted;

#[track_caller]
fn becomes(before: &str, after: &str) {
    assert_eq!(formatted(before), after);
    assert_eq!(formatted(after), after, "again");
}

#[test]
fn blanks_go_where_they_belong() {
    becomes(
        "plan   \"Shelf\"  on = \"2027-05-15\"{\n  dive \"one\" {\n\tdescend   ( ft ) 92 ;stay 10   work=light  \n}\n  }",
        "plan \"Shelf\" on=\"2027-05-15\" {\n    dive \"one\" {\n        descend (ft)92; stay 10 work=light\n    }\n}\n",
    );
    becomes("", "");
    becomes("  \n\n", "");
    becomes("\u{feff}\n  a 1", "\u{feff}a 1\n");
    becomes("a{b 1;c}", "a { b 1; c }\n");
    becomes("a {}\na { }\n", "a {}\na { }\n");
    becomes("a /*b*/1/* c */   2 /-  3 /-4\n", "a /*b*/1/* c */ 2 /- 3 /-4\n");
}

#[test]
fn blank_lines_are_at_most_one_and_none_at_the_ends_of_a_block() {
    becomes("\n\na 1\n\n\n\nb {\n\n  c 1\n\n  d 2\n\n}\n\n\n", "a 1\n\nb {\n    c 1\n\n    d 2\n}\n");
    becomes("a {\n\n    // for now\n\n}\n", "a {\n    // for now\n}\n");
}

#[test]
fn line_ends_stay_what_they_are() {
    becomes("a  1\r\n\r\n\r\nb {\r\nc 1 }", "a 1\r\n\r\nb {\r\n    c 1 }\r\n");
    becomes("a 1\rb  2", "a 1\rb 2\r");
}

#[test]
fn what_is_written_by_hand_over_lines_stays() {
    let text = "a 1 \\\n       2 \\   // and\n  3\nb \"\"\"\n  over   \n  lines\n  \"\"\" // as it is\n";
    becomes(text, text);
}

#[test]
fn a_block_stays_on_its_line_while_it_fits() {
    let fits = format!("cell \"a\" {{ reading on=\"2027-05-15\" air=10.1 oxygen=\"{}\" }}", "9".repeat(45));
    assert_eq!(fits.len(), 100);
    becomes(&format!("{fits}\n"), &format!("{fits}\n"));
    becomes(
        "cell \"a\" fitted=\"2027-02-06\" { reading on=\"2027-05-15\" air=10.1 oxygen=49.5; reading on=\"2027-05-16\" air=10 }\n",
        "cell \"a\" fitted=\"2027-02-06\" {\n    reading on=\"2027-05-15\" air=10.1 oxygen=49.5;\n    reading on=\"2027-05-16\" air=10\n}\n",
    );
    // What is empty, what goes on over lines and what a comment stands behind stays.
    let long = format!("\"{}\"", "x".repeat(90));
    becomes(&format!("a {{}}; b {{ c {long} }}\n"), &format!("a {{}}; b {{\n    c {long}\n}}\n"));
    for stays in [format!("a {{ b {long} }}  // two\n"), format!("a {long} \\\n  {long} {{ b 1 }}\n")] {
        becomes(&stays, &stays);
    }
}

#[test]
fn neighbouring_lines_of_one_word_are_a_table() {
    becomes(
        "fill 210 on=\"2027-05-15\" o2=35\nfill 95.5 on=\"2027-05-16\" o2=32.5 analysed=32\nfill (psi)3000 on=\"2027-05-17\" he=10\nnote \"x\"\n",
        "fill 210       on=\"2027-05-15\" o2=35\nfill 95.5      on=\"2027-05-16\" o2=32.5 analysed=32\nfill (psi)3000 on=\"2027-05-17\" he=10\nnote \"x\"\n",
    );
    // Never wider by more than twelve blanks: what is longer stands for itself.
    becomes(
        "diver \"Al\" supply=\"a\"\ndiver \"Bo Archibald\" supply=\"b\"\ndiver \"Constance Featherstone\" supply=\"c\"\n",
        "diver \"Al\"           supply=\"a\"\ndiver \"Bo Archibald\" supply=\"b\"\ndiver \"Constance Featherstone\" supply=\"c\"\n",
    );
    // A block that begins at the end of a line is no part of it.
    becomes(
        "diver \"Al\" supply=\"a\"\ndiver \"Bruno\" supply=\"b\" {\n    descend 9\n}\n",
        "diver \"Al\"    supply=\"a\"\ndiver \"Bruno\" supply=\"b\" {\n    descend 9\n}\n",
    );
    // A blank line, another depth and what is commented out part tables.
    let parted = "a 1 b=2\n\na 100 b=2\na {\n    a 1 b=2\n}\n/-a 10000 b=2\n";
    becomes(parted, parted);
}

#[test]
fn as_many_columns_as_a_file_holds_are_no_depth() {
    let row = format!("a{}\n", " 1".repeat(100_000));
    assert_eq!(formatted(&row.repeat(2)), row.repeat(2));
}

#[test]
fn comments_at_the_ends_of_lines_stand_below_each_other() {
    becomes(
        "stay 10 // along the wall\nascend  // and up\nstay 3 // at the line\n",
        "stay 10     // along the wall\nascend      // and up\nstay 3      // at the line\n",
    );
    // A column that they share stays.
    let shared = "stay 10              // along the wall\nascend               // and up\n";
    becomes(shared, shared);
    // One long line pushes nobody out.
    becomes(
        "a 1 // one\nb \"0123456789012345678901234567890123456789\"      // two\nc // three\n",
        "a 1     // one\nb \"0123456789012345678901234567890123456789\"  // two\nc       // three\n",
    );
    // But a column that is clear of all of them is nobody's to take.
    let clear = "a 1                                               // one\nb \"0123456789012345678901234567890123456789\"      // two\n";
    becomes(clear, clear);
    // What goes on below stays below.
    becomes(
        "a {\n  evacuation 45     // minutes to\n                    // the door\n  // and more\n}\n",
        "a {\n    evacuation 45   // minutes to\n                    // the door\n    // and more\n}\n",
    );
    // Behind a brace as anywhere.
    becomes("a {\n  b 1\n}// the end\n", "a {\n    b 1\n}   // the end\n");
}

#[test]
fn a_node_with_a_fault_stays_as_it_is_and_its_neighbours_do_not() {
    becomes("a   1\nb  2027-05-15   {\n  c  1 }\nd   2\n", "a 1\nb  2027-05-15   {\n  c  1 }\nd 2\n");
    becomes("a {\nb   12L\nc   2 }\n", "a {\nb   12L\n    c 2 }\n");
    becomes("a   1  \n\n\n  b   12L  \nc   2\n", "a 1\n\n  b   12L\nc 2\n");
    // Where a brace is missing indentation says what was meant.
    let unclosed = "a {\n  b   {\n    c   1\nd   2\n";
    assert_eq!(formatted(unclosed), "a {\n  b   {\n    c   1\nd 2\n");
    // Nor may a brace that closes nothing come to close something, or the other way round.
    let crossed = "a {\nb {\n  c 1\n  }\n      }\nd {\n   e 1\n";
    let pieces = |text: &str| {
        let tree = leadsman::syntax::Tree::parse(text);
        tree.tokens().map(|(kind, _)| kind).filter(|kind| !format!("{kind:?}").contains("e")).collect::<Vec<_>>()
    };
    assert_eq!(pieces(crossed), pieces(&formatted(crossed)));
    let twice = formatted(&formatted(unclosed));
    assert_eq!(twice, formatted(unclosed));
}
