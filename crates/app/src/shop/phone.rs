//! Phone numbers: read with the house's country, kept as E.164 where they can be.

use super::failure::Said;
use phonenumber::{Mode, country};

/// A phone number as it is kept, and what is odd about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Phone {
    /// E.164 where it could be read, as written otherwise.
    pub kept: String,
    /// What is odd; none when it is in order.
    pub warning: Option<Said>,
}

/// Reads a phone number; `house_country` is the ISO 3166 two-letter country in which numbers without one are meant.
///
/// # Reference
/// ITU-T E.164, by the numbering plans that the `phonenumber` crate carries.
///
/// # Example
/// ```
/// assert_eq!(app::shop::phone("085 012 3456", "IE", "phones.0").kept, "+353850123456");
/// ```
pub fn phone(written: &str, house_country: &str, field: &str) -> Phone {
    let written = written.split_whitespace().collect::<Vec<_>>().join(" ");
    let odd =
        |kept: String, message: String, hint: &str| Phone { kept, warning: Some(Said::new(field, message, hint)) };
    let country: Option<country::Id> = house_country.trim().to_ascii_uppercase().parse().ok();
    match phonenumber::parse(country, &written) {
        Ok(number) => {
            let kept = number.format().mode(Mode::E164).to_string();
            if phonenumber::is_valid(&number) {
                Phone { kept, warning: None }
            } else {
                let message = format!("the phone number `{written}` fits no numbering plan");
                odd(kept, message, "Count its digits, and give the country with a plus where it is abroad.")
            }
        }
        Err(_) => {
            let message = format!("the phone number `{written}` cannot be read");
            odd(written, message, "Write digits, with `+` and the country's code where it is abroad.")
        }
    }
}

/// How a kept number is written at home: without its country's code where that is the house's; none for any other.
pub(super) fn at_home(kept: &str, house_country: &str) -> Option<String> {
    let id: country::Id = house_country.trim().to_ascii_uppercase().parse().ok()?;
    let number = phonenumber::parse(None, kept).ok()?;
    (number.country().id() == Some(id)).then(|| number.format().mode(Mode::National).to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kept(written: &str, country: &str) -> (String, bool) {
        let p = phone(written, country, "phones.0");
        (p.kept, p.warning.is_none())
    }

    /// Outside check 19: E.164. The other numbers are from ranges kept for drama (Ofcom, the regulator of the United
    /// Kingdom): 01632 960000 to 960999 and 07700 900000 to 900999.
    #[test]
    fn phones_by_e164() {
        assert_eq!(kept("085 012 3456", "IE"), ("+353850123456".into(), true));
        assert_eq!(kept("(085) 012-3456", "ie"), ("+353850123456".into(), true));
        assert_eq!(kept("+353 85 012 3456", "GB").0, "+353850123456");
        assert_eq!(kept("07700 900123", "GB").0, "+447700900123");
        assert_eq!(kept("01632 960123", "GB").0, "+441632960123");
    }

    #[test]
    fn what_cannot_be_read_is_kept_and_said() {
        for bad in ["ring the bell", "", "12", "085 012", "<b>085</b>"] {
            assert!(!kept(bad, "IE").1, "{bad}");
        }
        assert_eq!(kept("ring   the bell", "IE").0, "ring the bell");
        assert_eq!(phone("085 012 3456", "nowhere", "phones.1").warning.map(|w| w.field), Some("phones.1".into()));
    }

    #[test]
    fn at_home_a_number_has_no_country() {
        assert_eq!(at_home("+353850123456", "IE").map(|n| n.replace(' ', "")), Some("0850123456".into()));
        assert_eq!(at_home("+353850123456", "GB"), None);
    }
}
