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
    // Every zone that is worked stands in the next visit.
    for zone in ["back", "forelegs", "skull"] {
        assert!(page.body.contains(&format!("<strong>{zone}</strong>")), "{zone}");
    }
    // The later, the dearer.
    let cost = |late: u32| {
        let row = page.body.split(&format!("<th scope=\"row\">{late}</th><td>")).nth(1);
        let cost = row.and_then(|r| r.split(" %").next()).and_then(|c| c.parse::<f64>().ok());
        cost.unwrap_or_else(|| panic!("{late}: {}", page.body))
    };
    assert!(cost(42) > cost(7), "{} {}", cost(42), cost(7));
    assert!(page.body.contains("A visit missed altogether counts as 21 days late."));
    let pictures = [
        ("drawing.svg?by=cover&theme=dark", ""),
        ("measures.svg?theme=light", "width=\"960\""),
        ("measures.svg?theme=light&width=narrow", "width=\"500\""),
        ("section.svg?of=back&width=narrow", "width=\"500\""),
    ];
    for (picture, has) in pictures {
        let svg = browser.get(&format!("/dogs/{dog}/{picture}")).await;
        assert_eq!(svg.status, StatusCode::OK, "{picture}");
        assert!(svg.body.starts_with("<svg") && svg.body.contains("Bramble") && svg.body.contains(has), "{picture}");
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

#[tokio::test]
async fn a_change_is_tried_out_beside_the_plan_and_kept() {
    let (shop, mut browser, dog) = with_dog().await;
    let at = format!("/dogs/{dog}");
    let page = browser.get(&format!("{at}?rhythm=14&zone=back&cap=15")).await;
    assert_eq!(page.status, StatusCode::OK, "{}", page.body);
    for part in ["Tried out, not kept.", "As it stands", "<td>21</td><td>14</td>", "Keep the change"] {
        assert!(page.body.contains(part), "{part}: {}", page.body);
    }
    let who = shop.who().await;
    let kept = shop.desk.dog(&who, &dog).await.unwrap().dog;
    assert_eq!((kept.body.rhythm_days, kept.body.zones.len()), (Some(21), 0), "trying keeps nothing");
    let seen = kept.revision.to_string();
    let form = [("seen", seen.as_str()), ("rhythm", "14"), ("zone", "back"), ("cap", "15")];
    let page = browser.post(&format!("{at}/keep"), &form).await;
    assert_eq!((page.status, page.to()), (StatusCode::SEE_OTHER, format!("{at}?kept=1").as_str()), "{}", page.body);
    let dog_now = shop.desk.dog(&who, &dog).await.unwrap().dog.body;
    assert_eq!((dog_now.rhythm_days, dog_now.zones[0].cap), (Some(14), Some(0.15)));
    // The same form again saw the dog before it was changed: both versions are shown.
    let page = browser.post(&format!("{at}/keep"), &form).await;
    assert_eq!(page.status, StatusCode::CONFLICT, "{}", page.body);
    for (wrong, says) in [
        ("rhythm=often", "often"),
        ("first=2027-02-30", "is no day"),
        ("cap=20", "a cap needs its zone"),
        ("zone=back&cap=2000", "cannot be"),
        ("max=3", "needs"),
    ] {
        let page = browser.get(&format!("{at}?{wrong}")).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{wrong}");
        assert!(page.body.to_lowercase().contains(says), "{wrong}: {}", page.body);
        assert!(page.body.contains("The next visit: "), "the plan as it stands is still there: {wrong}");
    }
}

#[tokio::test]
async fn the_layers_are_shown_on_any_day() {
    let (_shop, mut browser, dog) = with_dog().await;
    for part in ["back", "jacket"] {
        let svg = browser.get(&format!("/dogs/{dog}/section.svg?of={part}")).await;
        assert_eq!(svg.status, StatusCode::OK, "{part}");
        assert!(svg.body.contains(&format!("The {part} on 25 November 2026")), "{part}: {}", svg.body);
    }
    let page = browser.get(&format!("/dogs/{dog}?of=jacket")).await;
    assert!(page.body.contains("<option value=\"jacket\" selected>"), "{}", page.body);
    let page = browser.get(&format!("/dogs/{dog}?of=back")).await;
    let days = page.body.split("data-days=\"").nth(1).and_then(|r| r.split('"').next()).unwrap().to_owned();
    let days: Vec<&str> = days.split(' ').collect();
    assert!(days.len() > 3 && days[0] == "2026-11-25", "{days:?}");
    let mut seen = Vec::new();
    for day in [days[0], days[2]] {
        let svg = browser.get(&format!("/dogs/{dog}/section.svg?of=back&on={day}")).await;
        assert!(svg.status == StatusCode::OK && svg.body.starts_with("<svg"), "{}", svg.body);
        seen.push(svg.body);
    }
    assert_ne!(seen[0], seen[1]);
    assert!(seen[1].contains("comes out") && seen[1].contains("as the plan has it"), "{}", &seen[1][..2000]);
    // Before the history began, and after the plan's last day, there is no coat to draw.
    for day in ["2019-01-01", "2199-01-01"] {
        let svg = browser.get(&format!("/dogs/{dog}/section.svg?of=back&on={day}")).await;
        assert_eq!(svg.status, StatusCode::NOT_FOUND, "{day}: {}", svg.body);
    }
}

#[tokio::test]
async fn the_history_is_corrected_and_says_what_changed() {
    let (shop, mut browser, dog) = with_dog().await;
    let who = shop.who().await;
    let at = format!("/dogs/{dog}/history");
    let page = browser
        .post(
            &format!("{at}/new"),
            &[("id", "form-0000001"), ("day", "2026-11-20"), ("event", "clipped"), ("length_mm", "9")],
        )
        .await;
    assert_eq!(page.status, StatusCode::OK, "{}", page.body);
    assert!(
        page.body.contains("Written down.") && page.body.contains("The back&#39;s top length today is")
            || page.body.contains("The back's top length today is"),
        "{}",
        page.body
    );
    let events = shop.desk.dog(&who, &dog).await.unwrap().events;
    assert_eq!(events.len(), 2);
    let clip = events.iter().find(|e| e.body.event == "clipped").unwrap();
    let form = browser.get(&format!("{at}/{}", clip.id)).await;
    assert!(form.body.contains("value=\"9\"") && form.body.contains("value=\"2026-11-20\""), "{}", form.body);
    // What is wrong is said beside its field, and nothing is kept.
    for (field, value, says) in [
        ("length_mm", "900", "length"),
        ("day", "2026-02-30", "day"),
        ("length_mm", "short", "is no number"),
        ("event", "shorn", "event"),
    ] {
        let mut fields = vec![("seen", "1"), ("day", "2026-11-20"), ("event", "clipped"), ("length_mm", "9")];
        fields.retain(|f| f.0 != field);
        fields.push((field, value));
        let page = browser.post(&format!("{at}/{}", clip.id), &fields).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{field} {value}: {}", page.body);
        assert!(page.body.contains(says) && page.body.contains("aria-invalid"), "{field} {value}: {}", page.body);
    }
    assert_eq!(shop.desk.dog(&who, &dog).await.unwrap().events.len(), 2);
    let page = browser.post(&format!("{at}/{}/drop", clip.id), &[("seen", "1")]).await;
    assert!(page.status == StatusCode::OK && page.body.contains("Taken out."), "{}", page.body);
    assert_eq!(shop.desk.dog(&who, &dog).await.unwrap().events.len(), 1);
    let gone = browser.post(&format!("{at}/{}/drop", clip.id), &[("seen", "1")]).await;
    assert_eq!(gone.status, StatusCode::NOT_FOUND, "{}", gone.body);
}
