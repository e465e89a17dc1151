//! The report on learning is written by its command: a few dogs of everything, so that it cannot rot.
#![allow(missing_docs)]

use testkit::report::{Size, write};

#[test]
fn the_report_is_written_with_its_pictures() {
    let folder = std::env::temp_dir().join(format!("coatwright-learning-report-{}", std::process::id()));
    write(&folder, &Size::QUICK, None, &mut |_| {}).expect("written");
    let page = std::fs::read_to_string(folder.join("learning-report.md")).expect("the page");
    assert!(!page.contains("NaN"), "{page}");
    for picture in ["learning-gain.svg", "learning-ranks.svg", "learning-coverage.svg"] {
        let svg = std::fs::read_to_string(folder.join("pictures").join(picture)).expect("a picture");
        assert!(page.contains(picture) && svg.starts_with("<svg") && !svg.contains("NaN"), "{picture}");
    }
    assert_eq!(page.matches("\n## ").count(), 8, "{page}");
    std::fs::remove_dir_all(&folder).expect("removed");
}
