//! A dog's page: the plan, its pictures, what was done.

use crate::table::{add_dog, with_dog};
use axum::http::StatusCode;

#[tokio::test]
async fn the_page_has_the_plan_and_what_was_done() {
    let (_shop, mut browser, dog) = with_dog().await;
    let page = browser.get(&format!("/dogs/{dog}")).await;
    assert_eq!(page.status, StatusCode::OK, "{}", page.body);
    for part in
        ["The coat today", "The next visit: ", "How often", "Milestones", "rolled, every 3 weeks", "Nora Invented"]
    {
        assert!(page.body.contains(part), "{part}: {}", page.body);
    }
    // Every zone that is worked stands in the table of the next visit.
    for zone in ["back", "forelegs", "skull"] {
        assert!(page.body.contains(&format!("<th scope=\"row\">{zone}</th>")), "{zone}");
    }
    for picture in ["drawing.svg?by=cover&theme=dark", "measures.svg?theme=light"] {
        let svg = browser.get(&format!("/dogs/{dog}/{picture}")).await;
        assert_eq!(svg.status, StatusCode::OK, "{picture}");
        assert!(svg.body.starts_with("<svg") && svg.body.contains("Bramble"), "{picture}");
    }
    assert_eq!(browser.get("/dogs/no-such-dog-here").await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn script_in_a_dogs_name_is_only_text() {
    let (shop, mut browser, _) = with_dog().await;
    let dog = add_dog(&shop, "</h1><script>alert(1)</script>").await;
    let page = browser.get(&format!("/dogs/{dog}")).await;
    assert!(page.status == StatusCode::OK && !page.body.contains("<script>alert"), "{}", page.body);
    let svg = browser.get(&format!("/dogs/{dog}/drawing.svg")).await;
    assert!(svg.status == StatusCode::OK && !svg.body.contains("<script>"), "{}", svg.body);
}
