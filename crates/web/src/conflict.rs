//! Two people changed the same thing: the second sees both versions and chooses.

use crate::access::SignedIn;
use crate::fault::Fault;
use crate::fields::Fields;
use crate::frame::Place;
use crate::state::State;
use app::shop::{Record, ShopFailure};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use maud::html;
use serde_json::Value;

/// A form that may meet another's change.
pub(crate) struct Sent<'a> {
    pub(crate) fields: &'a Fields,
    /// Where the form goes.
    pub(crate) action: &'a str,
    /// Where what stands is shown.
    pub(crate) back: &'a str,
    /// The place of both.
    pub(crate) place: Place,
}

/// The page with both versions where somebody changed the same thing meanwhile; every other failure as it is.
pub(crate) async fn both_or(
    state: &State,
    signed: &SignedIn,
    sent: &Sent<'_>,
    failure: ShopFailure,
) -> Result<Response, Fault> {
    match failure {
        ShopFailure::Conflict { stands, yours } => page(state, signed, sent, &stands, &yours).await,
        other => Err(other.into()),
    }
}

async fn page(
    state: &State,
    signed: &SignedIn,
    v: &Sent<'_>,
    stands: &Record,
    yours: &Value,
) -> Result<Response, Fault> {
    let by = state.desk().person(&signed.who, &stands.by).await.map_or_else(|_| "Somebody".to_owned(), |p| p.body.name);
    let rows = side_by_side(&stands.body, yours);
    let main = html! {
        h1 { "Changed meanwhile" }
        p.notice role="alert" {
            (by) " changed this after you opened it. Nothing of yours was kept yet. Here are both; choose what stands."
        }
        div.scroll tabindex="0" role="group" aria-label="Both versions" {
            table {
                thead { tr { th scope="col" { "What" } th scope="col" { "As it stands, by " (by) } th scope="col" { "Yours" } } }
                tbody {
                    @for row in &rows {
                        tr.differs[row.1 != row.2] {
                            th scope="row" { (row.0) @if row.1 != row.2 { span.unseen { " (differs)" } } }
                            td { (row.1) }
                            td { (row.2) }
                        }
                    }
                }
            }
        }
        div.actions {
            a.button.main href=(v.back) { "Keep what stands" }
            form method="post" action=(v.action) {
                input type="hidden" name="seen" value=(stands.revision);
                @for (name, value) in v.fields.iter().filter(|f| f.0 != "seen") {
                    input type="hidden" name=(name) value=(value);
                }
                button type="submit" { "Save mine over it" }
            }
        }
    };
    Ok((StatusCode::CONFLICT, signed.page(Some(v.place), "Changed meanwhile", &main)).into_response())
}

/// Every value of either, by its name, as text.
fn side_by_side(stands: &Value, yours: &Value) -> Vec<(String, String, String)> {
    let (mut a, mut b) = (Vec::new(), Vec::new());
    flat("", stands, &mut a);
    flat("", yours, &mut b);
    let mut names: Vec<&String> = a.iter().chain(&b).map(|(n, _)| n).collect();
    let mut seen = std::collections::HashSet::new();
    names.retain(|n| seen.insert(n.as_str()));
    let of = |list: &[(String, String)], name: &str| {
        list.iter().find(|x| x.0 == name).map_or_else(|| "nothing".to_owned(), |x| x.1.clone())
    };
    names.into_iter().map(|n| (spoken(n), of(&a, n), of(&b, n))).collect()
}

fn flat(name: &str, value: &Value, out: &mut Vec<(String, String)>) {
    let under = |key: &str| if name.is_empty() { key.to_owned() } else { format!("{name}.{key}") };
    match value {
        Value::Object(map) => map.iter().for_each(|(k, v)| flat(&under(k), v, out)),
        Value::Array(list) => list.iter().enumerate().for_each(|(i, v)| flat(&under(&(i + 1).to_string()), v, out)),
        Value::Null => {}
        Value::String(text) if text.is_empty() => {}
        Value::String(text) => out.push((name.to_owned(), text.clone())),
        Value::Bool(yes) => out.push((name.to_owned(), if *yes { "yes" } else { "no" }.to_owned())),
        Value::Number(n) => out.push((name.to_owned(), n.to_string())),
    }
}

/// `caps.layered` as `caps, layered`; units behind the name.
fn spoken(name: &str) -> String {
    let mut text = name.replace('.', ", ").replace('_', " ");
    for (end, unit) in
        [(" mm", "(mm)"), (" kg", "(kg)"), (" min", "(min)"), (" deg", "(degrees)"), (" minor", "(smallest coin)")]
    {
        if let Some(front) = text.strip_suffix(end) {
            text = format!("{front} {unit}");
            break;
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn both_versions_line_by_line() {
        let a = json!({"name": "A", "caps": {"short": 0.5}, "phones": ["1"], "note": null});
        let b = json!({"name": "B", "caps": {"short": 0.5}, "phones": ["1", "2"], "left": true});
        let rows = side_by_side(&a, &b);
        let row = |n: &str| rows.iter().find(|r| r.0 == n).map(|r| (r.1.as_str(), r.2.as_str()));
        assert_eq!(row("name"), Some(("A", "B")));
        assert_eq!(row("caps, short"), Some(("0.5", "0.5")));
        assert_eq!(row("phones, 2"), Some(("nothing", "2")));
        assert_eq!(row("left"), Some(("nothing", "yes")));
        assert_eq!(spoken("table_max_min"), "table max (min)");
    }
}
