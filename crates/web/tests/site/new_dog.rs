//! A new dog: five steps that keep what was entered, tell what is wrong beside the field, and end in the plan.

use crate::shop::{Browser, Page, Shop};
use app::shop::{Asked, Filter, RecordId};
use axum::http::StatusCode;

/// A form as a browser holds it: the fields that it would send.
struct Form(Vec<(String, String)>);

impl Form {
    /// Reads the form of the steps off a page.
    fn of(page: &Page) -> Form {
        let from = page.body.find("<form class=\"new-dog\"").unwrap_or_else(|| panic!("no form: {}", page.body));
        let form = &page.body[from..];
        let form = &form[..form.find("</form>").unwrap()];
        let mut out = Vec::new();
        for tag in form.split('<').skip(1) {
            let (tag, text) = tag.split_once('>').unwrap();
            let name = attribute(tag, "name");
            match (tag.split(' ').next().unwrap(), attribute(tag, "type").as_deref(), name) {
                ("input", Some("radio" | "checkbox"), Some(name)) if tag.contains(" checked") => {
                    out.push((name, attribute(tag, "value").unwrap_or_else(|| "on".into())));
                }
                ("input", Some("radio" | "checkbox"), _) => {}
                ("input", _, Some(name)) => out.push((name, attribute(tag, "value").unwrap_or_default())),
                ("textarea", _, Some(name)) => out.push((name, unescaped(text))),
                ("select", _, Some(name)) => out.push((name, String::new())),
                ("option", ..) if tag.contains(" selected") => {
                    out.last_mut().unwrap().1 = attribute(tag, "value").unwrap();
                }
                _ => {}
            }
        }
        Form(out)
    }

    fn has(&self, name: &str) -> Option<&str> {
        self.0.iter().find(|f| f.0 == name).map(|f| f.1.as_str())
    }

    fn fill(mut self, fields: &[(&str, &str)]) -> Form {
        for (name, value) in fields {
            self.0.retain(|f| f.0 != *name);
            self.0.push(((*name).to_owned(), (*value).to_owned()));
        }
        self
    }

    async fn press(&self, browser: &mut Browser, to: &str) -> Page {
        let mut fields: Vec<(&str, &str)> = self.0.iter().map(|f| (f.0.as_str(), f.1.as_str())).collect();
        fields.push(("to", to));
        browser.post("/dogs/new", &fields).await
    }
}

fn attribute(tag: &str, name: &str) -> Option<String> {
    let at = tag.find(&format!(" {name}=\""))? + name.len() + 3;
    Some(unescaped(&tag[at..at + tag[at..].find('"')?]))
}

fn unescaped(text: &str) -> String {
    text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&")
}

/// What an invented dog's owner answers, step by step.
const ANSWERS: [(&str, &[(&str, &str)]); 5] = [
    (
        "who",
        &[("name", "Nettle"), ("breed", "terrier"), ("owner.name", "Una Invented"), ("owner.phone", "085 012 3456")],
    ),
    ("dog", &[("born", "2021-05-02"), ("sex", "bitch"), ("mass_kg", "8,4"), ("coat", "wire")]),
    ("coat", &[("before", "rolled"), ("rolled.day", "2026-11-04"), ("rolled.weeks", "3")]),
    ("care", &[("temper", "calm"), ("table_max_min", "90")]),
    ("wishes", &[("look", "pet"), ("matters.day", "2027-03-06"), ("matters.name", "a wedding")]),
];

/// Walks to a step, with the answers before it.
async fn walk(browser: &mut Browser, to: &str, more: &[(&str, &str)]) -> Page {
    let mut page = browser.get("/dogs/new").await;
    for (step, answers) in ANSWERS {
        assert_eq!(page.status, StatusCode::OK, "{}", page.body);
        assert_eq!(Form::of(&page).has("step"), Some(step), "{}", page.body);
        if step == to {
            return page;
        }
        let own: Vec<(&str, &str)> = more.iter().copied().filter(|m| !answers.iter().any(|a| a.0 == m.0)).collect();
        page = Form::of(&page).fill(answers).fill(&own).press(browser, "next").await;
    }
    page
}

/// Answers the last step and sends it.
async fn end(browser: &mut Browser, page: &Page) -> Page {
    Form::of(page).fill(ANSWERS[4].1).press(browser, "next").await
}

async fn dogs(shop: &Shop) -> Vec<RecordId> {
    let today = coat::Day::parse("2026-11-25").unwrap();
    let ask = Asked { words: String::new(), filter: Filter::All, after: None, most: 50 };
    let found = shop.desk.search(&shop.who().await, today, &ask).await.unwrap().found;
    found.into_iter().map(|f| f.dog).collect()
}

#[tokio::test]
async fn a_day_that_is_refused_is_told_as_the_house_writes_days() {
    let (_shop, mut browser) = Shop::founded().await;
    let page = walk(&mut browser, "wishes", &[]).await;
    let past = [("matters.day", "2026-03-14"), ("matters.name", "a wedding"), ("look", "pet")];
    let page = Form::of(&page).fill(&past).press(&mut browser, "next").await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    let told = "`14 March 2026` is past. Give a day from 25 November 2026 on.";
    assert_eq!(page.body.matches(told).count(), 2, "above the form and beside the field: {}", page.body);
    assert_eq!(Form::of(&page).has("matters.day"), Some("2026-03-14"), "the field keeps what a date field takes");
}

#[tokio::test]
async fn five_steps_end_in_a_plan_that_goes_on_the_table() {
    let (shop, mut browser) = Shop::founded().await;
    assert!(browser.get("/coats").await.body.contains("href=\"/dogs/new\""));
    let page = walk(&mut browser, "wishes", &[]).await;
    assert!(page.body.contains("New dog: Nettle"), "{}", page.body);
    assert!(dogs(&shop).await.is_empty(), "nothing is kept on the way");
    assert!(shop.desk.owners(&shop.who().await, "", 10).await.unwrap().is_empty());
    let page = end(&mut browser, &page).await;
    let at = page.to().to_owned();
    let id = RecordId::new(at.strip_prefix("/dogs/").unwrap_or_else(|| panic!("{}", page.body))).unwrap();
    let card = shop.desk.dog(&shop.who().await, &id).await.unwrap();
    let dog = &card.dog.body;
    assert_eq!((dog.mass_kg, dog.table_max_min, dog.sex.as_str()), (8.4, Some(90.0), "bitch"));
    assert_eq!(dog.days_that_matter, [("2027-03-06".to_owned(), "a wedding".to_owned())]);
    assert_eq!(card.owner.unwrap().body.phones, ["+353850123456"]);
    let event = &card.events[0].body;
    assert_eq!((event.event.as_str(), event.day.as_str(), event.every_weeks), ("rolled", "2026-11-04", Some(3.0)));
    let page = browser.get(&at).await;
    assert!(page.body.contains("The next visit: "), "{}", page.body);
    let day = page.value("day").to_owned();
    let page = browser.post("/table/visits", &[("day", &day), ("dog", id.as_str())]).await;
    assert_eq!(page.to(), format!("/table?day={day}"), "{}", page.body);
    assert!(browser.get(page.to()).await.body.contains("Nettle"));
}

#[tokio::test]
async fn back_loses_nothing() {
    let (_shop, mut browser) = Shop::founded().await;
    let more = [
        ("chip", "276000312312345"),
        ("outdoors", "on"),
        ("flat.day", "2020-02-02"),
        ("minded.ears", "on"),
        ("minded.ears.from", "2026-11-20"),
        ("minded.skin.where", "back"),
        ("health", "Two lines,\nthe second."),
    ];
    // Outdoors needs the house's latitude; the step before says so where it is missing.
    browser.post("/house", &[("seen", "1")]).await;
    let more: Vec<(&str, &str)> = more.into_iter().filter(|m| m.0 != "outdoors").collect();
    let mut page = walk(&mut browser, "wishes", &more).await;
    let last = [("look", "smart"), ("target.jacket", "18"), ("groomer", "")];
    page = Form::of(&page).fill(&last).press(&mut browser, "care").await;
    for back in ["coat", "dog", "who"] {
        page = Form::of(&page).press(&mut browser, back).await;
        assert_eq!((page.status, Form::of(&page).has("step")), (StatusCode::OK, Some(back)));
    }
    let form = Form::of(&page);
    for (name, value) in ANSWERS.iter().take(4).flat_map(|a| a.1).chain(&more).chain(&last[..2]) {
        assert_eq!(form.has(name), Some(*value), "{name}: {:?}", form.0);
    }
    // What is half entered or wrong is no reason not to go back.
    let page = Form::of(&walk(&mut browser, "dog", &[]).await).fill(&[("born", "soon"), ("mass_kg", "much")]);
    let page = page.press(&mut browser, "who").await;
    assert_eq!((page.status, Form::of(&page).has("born")), (StatusCode::OK, Some("soon")));
    // And forward again the whole way.
    let mut form = form;
    for (i, step) in ["dog", "coat", "care", "wishes"].into_iter().enumerate() {
        let page = form.press(&mut browser, "next").await;
        assert_eq!(Form::of(&page).has("step"), Some(step), "{i}: {}", page.body);
        form = Form::of(&page);
    }
    assert!(form.press(&mut browser, "next").await.to().starts_with("/dogs/"));
}

#[tokio::test]
async fn a_wrong_field_is_told_beside_it_with_what_would_be_right() {
    let (shop, mut browser) = Shop::founded().await;
    let cases: &[(&str, &[(&str, &str)], &str, &str)] = &[
        ("who", &[("name", "")], "name", "Fill it in."),
        ("who", &[("name", "a\u{202e}b")], "name", "Type it anew"),
        ("who", &[("breed", &"x".repeat(201))], "breed", "Shorten it."),
        ("who", &[("owner.name", " ")], "owner.name", "The owner's name is empty."),
        ("who", &[("owner", "counted-99999999")], "owner", "Choose another owner."),
        ("dog", &[("born", "")], "born", "about right will do"),
        ("dog", &[("born", "2022-02-30")], "born", "does not exist"),
        ("dog", &[("born", "2026-11-26")], "born", "Give a day up to"),
        ("dog", &[("sex", "cat")], "sex", "bitch"),
        ("dog", &[("neutered_since", "2001-01-01")], "neutered_since", "before the birth"),
        ("dog", &[("mass_kg", "")], "mass_kg", "Weigh the dog"),
        ("dog", &[("mass_kg", "eight")], "mass_kg", "is no number"),
        ("dog", &[("mass_kg", "500")], "mass_kg", "0..=120"),
        ("dog", &[("coat", "wool")], "coat", "wire"),
        ("dog", &[("outdoors", "on")], "outdoors", "latitude"),
        ("coat", &[("before", "bathed")], "before", "Choose one of them."),
        ("coat", &[("before", "flat")], "flat.day", "Give a day"),
        ("coat", &[("before", "flat"), ("flat.day", "2026-12-24")], "flat.day", "Give a day up to"),
        ("coat", &[("before", "flat"), ("flat.day", "2019-12-24")], "flat.day", "before the birth"),
        ("coat", &[("before", "clipped"), ("clipped.day", "2026-10-01")], "clipped.length", "about right will do"),
        (
            "coat",
            &[("before", "clipped"), ("clipped.day", "2026-10-01"), ("clipped.length", "9"), ("clipped.months", "24")],
            "clipped.weeks",
            "how often is missing",
        ),
        (
            "coat",
            &[("before", "clipped"), ("clipped.day", "2026-10-01"), ("clipped.length", "900")],
            "clipped.length",
            "Write 1 to 400 mm.",
        ),
        ("coat", &[("rolled.weeks", "0.2")], "rolled.weeks", "1..=104"),
        ("care", &[("temper", "")], "temper", "Choose one."),
        ("care", &[("table_max_min", "2")], "table_max_min", "5..=480"),
        ("care", &[("minded.skin", "on"), ("minded.skin.from", "x")], "minded.skin.from", "not a date"),
        ("care", &[("minded.skin", "on"), ("minded.skin.where", "wing")], "minded.skin.where", "zone"),
        ("care", &[("steroids", "on")], "steroids.from", "Give a day"),
        ("care", &[("health", &"x".repeat(4001))], "health", "Shorten it."),
        ("wishes", &[("look", "")], "look", "Choose one."),
        ("wishes", &[("rhythm_days", "often")], "rhythm_days", "no whole number"),
        ("wishes", &[("rhythm_days", "400")], "rhythm_days", "5..=120"),
        ("wishes", &[("target.legs", "long")], "target.legs", "Write 1 to 400 mm."),
        ("wishes", &[("matters.day", "2026-11-01")], "matters.day", "Give a day from"),
        ("wishes", &[("matters.day", ""), ("matters.name", "a show")], "matters.day", "its date"),
        ("wishes", &[("groomer", "counted-99999999")], "groomer", "Choose another."),
    ];
    for (step, wrong, field, words) in cases {
        let page = walk(&mut browser, step, &[]).await;
        let answers = ANSWERS.iter().find(|a| a.0 == *step).unwrap().1;
        let page = Form::of(&page).fill(answers).fill(wrong).press(&mut browser, "next").await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{wrong:?}");
        assert_eq!(Form::of(&page).has("step"), Some(*step), "{wrong:?}");
        let body = &page.body[page.body.find("<form class=\"new-dog\"").unwrap()..];
        let fault = body.split("class=\"fault\"").nth(1).unwrap_or_else(|| panic!("{wrong:?}: {body}"));
        let fault = &fault[..fault.find("</p>").unwrap()];
        assert!(fault.contains(words), "{wrong:?}: {fault}");
        assert!(page.body.contains(&format!("href=\"#{field}\"")), "{wrong:?} is not named by {field}: {}", page.body);
        assert!(page.body.contains(&format!("id=\"{field}\"")), "{field}");
        assert_eq!(body.matches("class=\"fault\"").count(), 1, "{wrong:?}: {body}");
    }
    assert!(dogs(&shop).await.is_empty());
}

#[tokio::test]
async fn a_fault_of_an_earlier_step_leads_back_to_it() {
    let (_shop, mut browser) = Shop::founded().await;
    let page = walk(&mut browser, "wishes", &[]).await;
    let page = Form::of(&page).fill(&[("born", "2026-11-20"), ("look", "pet")]).press(&mut browser, "next").await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(Form::of(&page).has("step"), Some("coat"), "rolled before it was born");
    assert_eq!(Form::of(&page).has("look"), Some("pet"));
}

#[tokio::test]
async fn the_same_form_twice_takes_in_one_dog_and_another_name_another() {
    let (shop, mut browser) = Shop::founded().await;
    let page = walk(&mut browser, "wishes", &[]).await;
    let first = end(&mut browser, &page).await.to().to_owned();
    assert_eq!(end(&mut browser, &page).await.to(), first);
    assert_eq!((dogs(&shop).await.len(), shop.desk.owners(&shop.who().await, "", 10).await.unwrap().len()), (1, 1));
    let sister = Form::of(&page).fill(ANSWERS[4].1).fill(&[("name", "Thistle")]).press(&mut browser, "next").await;
    assert_eq!(sister.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(sister.body.contains("Nettle was taken in with this form already"), "{}", sister.body);
    let mut form = Form::of(&sister);
    for _ in 0..4 {
        form = Form::of(&form.press(&mut browser, "next").await);
    }
    let second = form.press(&mut browser, "next").await;
    assert!(second.to().starts_with("/dogs/") && second.to() != first, "{}", second.body);
    assert_eq!(dogs(&shop).await.len(), 2);
}

#[tokio::test]
async fn an_owner_who_is_here_is_found_and_chosen() {
    let (shop, mut browser) = Shop::founded().await;
    let at = browser.post("/people/owners/new", &[("name", "Bríd Example")]).await.to().replace("?saved=1", "");
    let owner = at.rsplit('/').next().unwrap().to_owned();
    browser.post("/people/owners/new", &[("name", "Bran Example")]).await;
    assert!(browser.get(&at).await.body.contains(&format!("href=\"/dogs/new?owner={owner}\"")));
    let page = browser.get(&format!("/dogs/new?owner={owner}")).await;
    assert_eq!(Form::of(&page).has("owner"), Some(owner.as_str()), "the owner's page leads here with the owner");

    let page = Form::of(&browser.get("/dogs/new").await).fill(&[("name", "Burr"), ("find", "brid ex")]);
    // Enter in the field, and the button beside it.
    for to in ["next", "find"] {
        let page = page.press(&mut browser, to).await;
        assert_eq!((page.status, Form::of(&page).has("step")), (StatusCode::OK, Some("who")), "{to}");
        assert!(page.body.contains("Bríd Example") && !page.body.contains("Bran Example"), "{}", page.body);
        assert_eq!(Form::of(&page).has("owner"), Some(owner.as_str()), "the only one found");
    }
    let both = Form::of(&browser.get("/dogs/new").await).fill(&[("name", "Burr"), ("find", "example")]);
    let both = both.press(&mut browser, "find").await;
    assert!(both.body.contains("2 owners are found") && Form::of(&both).has("owner") == Some("new"), "{}", both.body);
    let none = Form::of(&both).fill(&[("find", "nobody")]).press(&mut browser, "find").await;
    assert!(none.body.contains("Nobody is found by that"));

    let mut page = Form::of(&both).fill(&[("owner", &owner)]).press(&mut browser, "next").await;
    for (_, answers) in &ANSWERS[1..] {
        page = Form::of(&page).fill(answers).press(&mut browser, "next").await;
    }
    let at = page.to().to_owned();
    assert!(at.starts_with("/dogs/"), "{}", page.body);
    let card = shop.desk.dog(&shop.who().await, &RecordId::new(at.rsplit('/').next().unwrap()).unwrap()).await.unwrap();
    assert_eq!(card.owner.unwrap().id.as_str(), owner);
}

#[tokio::test]
async fn a_wrong_chip_warns_and_is_kept() {
    let (shop, mut browser) = Shop::founded().await;
    let page = walk(&mut browser, "dog", &[("chip", "276 27")]).await;
    assert!(page.body.contains("The microchip has `5 digits`, not `15`"), "{}", page.body);
    let page = walk(&mut browser, "wishes", &[("chip", "276 27")]).await;
    let page = end(&mut browser, &page).await;
    assert!(browser.get(page.to()).await.body.contains("not `15`"));
    let card = shop.desk.dog(&shop.who().await, &dogs(&shop).await[0]).await.unwrap();
    assert_eq!(card.dog.body.chip, "27627");
}

#[tokio::test]
async fn what_was_told_of_coat_and_health_is_kept() {
    let (shop, mut browser) = Shop::founded().await;
    let mut take_in = async |coat: &[(&str, &str)], care: &[(&str, &str)]| {
        let page = walk(&mut browser, "coat", &[]).await;
        let page = Form::of(&page).fill(coat).press(&mut browser, "next").await;
        let page = Form::of(&page).fill(ANSWERS[3].1).fill(care).press(&mut browser, "next").await;
        let page = end(&mut browser, &page).await;
        assert!(page.to().starts_with("/dogs/"), "{}", page.body);
        let id = RecordId::new(page.to().rsplit('/').next().unwrap()).unwrap();
        let shown = browser.get(page.to()).await;
        (shop.desk.dog(&shop.who().await, &id).await.unwrap(), shown.body)
    };
    let clipped = [
        ("before", "clipped"),
        ("clipped.day", "2026-10-01"),
        ("clipped.length", "9"),
        ("clipped.weeks", "8"),
        ("clipped.months", "24"),
        ("rolled.day", "2026-11-04"),
    ];
    let care = [
        ("minded.skin", "on"),
        ("minded.skin.where", "loin"),
        ("minded.skin.until", "2026-12-24"),
        ("minded.season", "on"),
        ("steroids", "on"),
        ("steroids.from", "2026-09-01"),
    ];
    let (card, shown) = take_in(&clipped, &care).await;
    let event = &card.events[0].body;
    assert_eq!((event.length_mm, event.every_weeks, event.months), (Some(9.0), Some(8.0), Some(24.0)));
    assert_eq!(card.events.len(), 1, "what belongs to another answer is not kept");
    let dog = &card.dog.body;
    let noted: Vec<_> = dog.conditions.iter().map(|c| (c.kind.as_str(), c.from.as_str(), c.zones.len())).collect();
    assert_eq!(noted, [("skin", "2026-11-25", 1), ("season", "2026-11-25", 0)]);
    assert_eq!(dog.steroids, [("2026-09-01".to_owned(), None)]);
    assert!(shown.contains("Skin noted: hands off that skin"), "{shown}");

    let (card, shown) = take_in(&[("before", "never")], &[]).await;
    assert_eq!(card.events[0].body.event, "left alone");
    assert!(shown.contains("Ways to begin"), "an overgrown coat is offered both ways: {shown}");
    let (card, _) = take_in(&[("before", "unknown")], &[]).await;
    assert!(card.events.is_empty());
}

#[tokio::test]
async fn script_in_any_field_is_only_text_on_every_step() {
    let (_shop, mut browser) = Shop::founded().await;
    for text in ["<script>alert(1)</script>", "\"><img src=x onerror=alert(1)>'"] {
        let names = [
            "name",
            "breed",
            "chip",
            "find",
            "owner",
            "owner.name",
            "owner.phone",
            "born",
            "sex",
            "neutered_since",
            "mass_kg",
            "coat",
            "density",
            "outdoors",
            "before",
            "flat.day",
            "clipped.day",
            "clipped.length",
            "clipped.weeks",
            "clipped.months",
            "rolled.day",
            "rolled.weeks",
            "temper",
            "minded.skin",
            "minded.skin.from",
            "minded.skin.where",
            "steroids",
            "steroids.from",
            "health",
            "table_max_min",
            "look",
            "rhythm_days",
            "target.jacket",
            "matters.day",
            "matters.name",
            "groomer",
            "id",
            "looked-for",
        ];
        let all: Vec<(&str, &str)> = names.into_iter().map(|n| (n, text)).collect();
        for step in ["who", "dog", "coat", "care", "wishes", text] {
            for to in ["next", "find", "who", "dog", "coat", "care", text] {
                let page = browser.post("/dogs/new", &[&all[..], &[("step", step), ("to", to)]].concat()).await;
                assert!(matches!(page.status.as_u16(), 200 | 422), "{step} {to}: {}", page.status);
                assert!(!page.body.contains("<script>alert") && !page.body.contains("<img src=x"), "{}", page.body);
            }
        }
        let page = walk(&mut browser, "wishes", &[("health", text)]).await;
        let page = Form::of(&page).fill(ANSWERS[4].1).fill(&[("name", text), ("breed", text), ("matters.name", text)]);
        let at = page.press(&mut browser, "next").await.to().to_owned();
        let page = browser.get(&at).await;
        assert_eq!(page.status, StatusCode::OK);
        assert!(!page.body.contains("<script>alert") && !page.body.contains("<img src=x"), "{}", page.body);
    }
    let page = walk(&mut browser, "wishes", &[]).await;
    let page = Form::of(&page).fill(ANSWERS[4].1).fill(&[("id", "../../x")]).press(&mut browser, "next").await;
    assert_eq!(page.status, StatusCode::BAD_REQUEST, "an id that is none");
}
