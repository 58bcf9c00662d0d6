//! Every value that a sentence tells is listed, so that it comes into the finding's data.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use proc_macro2::TokenTree;
use syn::parse::Parser;
use syn::visit::{self, Visit};

/// The `said!`s of a source: each template, with the names it lists.
#[derive(Default)]
struct Sentences(Vec<(String, BTreeSet<String>)>);

impl<'ast> Visit<'ast> for Sentences {
    fn visit_macro(&mut self, call: &'ast syn::Macro) {
        if call.path.segments.last().is_some_and(|last| last.ident == "said") {
            let read = |input: syn::parse::ParseStream<'_>| {
                let template: syn::LitStr = input.parse()?;
                let mut names = BTreeSet::new();
                while input.parse::<Option<syn::Token![,]>>()?.is_some() && !input.is_empty() {
                    names.insert(input.parse::<syn::Ident>()?.to_string());
                    if input.parse::<Option<syn::Token![=]>>()?.is_some() {
                        let value: syn::Expr = input.parse()?;
                        let mut inside = Sentences::default();
                        inside.visit_expr(&value);
                        // A sentence in a sentence.
                        names.extend(inside.0.iter().map(|(template, names)| format!("{template:?} {names:?}")));
                    }
                }
                Ok((template.value(), names))
            };
            // The macro's own definition is no sentence.
            if let Ok(sentence) = read.parse2(call.tokens.clone()) {
                self.0.push(sentence);
            }
        } else {
            // In the arguments of `format!` or `vec!` there may be one.
            for token in call.tokens.clone() {
                if let TokenTree::Group(group) = token
                    && let Ok(value) = syn::parse2::<syn::Expr>(group.stream())
                {
                    self.visit_expr(&value);
                }
            }
        }
        visit::visit_macro(self, call);
    }
}

/// The names that a template has in braces.
fn told(template: &str) -> BTreeSet<String> {
    let template = template.replace("{{", "").replace("}}", "");
    let names = template.split('{').skip(1).filter_map(|part| part.split_once('}'));
    names.map(|(name, _)| name.split(':').next().unwrap_or_default().to_owned()).collect()
}

fn sources(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        match path.is_dir() {
            true => sources(&path, files),
            false if path.extension().is_some_and(|end| end == "rs") => files.push(path),
            false => {}
        }
    }
}

fn unlisted(source: &str) -> (usize, Vec<String>) {
    let mut sentences = Sentences::default();
    sentences.visit_file(&syn::parse_file(source).unwrap());
    let wrong = |(template, names): &(String, BTreeSet<String>)| {
        let missing: Vec<String> = told(template).difference(names).cloned().collect();
        (!missing.is_empty()).then(|| format!("{template:?} tells {missing:?} without listing it"))
    };
    (sentences.0.len(), sentences.0.iter().filter_map(wrong).collect())
}

#[test]
fn every_value_of_a_sentence_is_listed() {
    let mut files = Vec::new();
    sources(&super::src(), &mut files);
    let (mut all, mut wrong) = (0, Vec::new());
    for file in files {
        let (count, unlisted) = unlisted(&std::fs::read_to_string(&file).unwrap());
        all += count;
        wrong.extend(unlisted.into_iter().map(|what| format!("{}: {what}", file.display())));
    }
    assert!(all > 100, "{all} sentences were seen");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn one_that_is_not_is_found() {
    let source =
        r#"fn f() { let a = said!("{who} at {depth:?} m {{so}}", who = x(said!("{y}", y))); say(said!("{z}")); }"#;
    let (all, wrong) = unlisted(source);
    assert_eq!(all, 2);
    assert_eq!(
        wrong,
        [
            r#""{who} at {depth:?} m {{so}}" tells ["depth"] without listing it"#,
            r#""{z}" tells ["z"] without listing it"#
        ]
    );
}
