//! The report on learning is written by its command: a few dogs of everything, so that it cannot rot, and the
//! committed page has the same sections.
#![allow(missing_docs)]

use std::path::Path;
use testkit::report::{Size, write};

fn sections(page: &str) -> Vec<&str> {
    page.lines().filter(|l| l.starts_with("## ") || l.starts_with("| kind") || l.starts_with("| value")).collect()
}

#[test]
fn the_report_is_written_and_the_committed_one_is_of_the_same_make() {
    let folder = std::env::temp_dir().join(format!("coatwright-learning-report-{}", std::process::id()));
    write(&folder, &Size::QUICK, None, &mut |_| {}).expect("written");
    let page = std::fs::read_to_string(folder.join("learning-report.md")).expect("the page");
    assert!(!page.contains("NaN") && !page.contains("inf"), "{page}");
    for picture in ["learning-gain.svg", "learning-ranks.svg", "learning-coverage.svg"] {
        let svg = std::fs::read_to_string(folder.join("pictures").join(picture)).expect("a picture");
        assert!(page.contains(picture) && svg.starts_with("<svg") && !svg.contains("NaN"), "{picture}");
    }
    let docs = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs");
    let committed = std::fs::read_to_string(docs.join("learning-report.md")).expect("the committed page");
    assert_eq!(sections(&page), sections(&committed));
    std::fs::remove_dir_all(&folder).expect("removed");
}
