//! Microchip numbers by ISO 11784. A wrong one is pointed out and kept: the reader may be right and we wrong.

use super::failure::Said;

/// The largest animal number that fits the 38 bits of ISO 11784.
const LARGEST: u64 = 274_877_906_943;

/// Country codes of ISO 3166-1, numeric, ascending; the same set as in the PyPI package `pycountry` 26.2.16 (iso-codes).
const COUNTRIES: [u16; 249] = [
    4, 8, 10, 12, 16, 20, 24, 28, 31, 32, 36, 40, 44, 48, 50, 51, 52, 56, 60, 64, 68, 70, 72, 74, 76, 84, 86, 90, 92,
    96, 100, 104, 108, 112, 116, 120, 124, 132, 136, 140, 144, 148, 152, 156, 158, 162, 166, 170, 174, 175, 178, 180,
    184, 188, 191, 192, 196, 203, 204, 208, 212, 214, 218, 222, 226, 231, 232, 233, 234, 238, 239, 242, 246, 248, 250,
    254, 258, 260, 262, 266, 268, 270, 275, 276, 288, 292, 296, 300, 304, 308, 312, 316, 320, 324, 328, 332, 334, 336,
    340, 344, 348, 352, 356, 360, 364, 368, 372, 376, 380, 384, 388, 392, 398, 400, 404, 408, 410, 414, 417, 418, 422,
    426, 428, 430, 434, 438, 440, 442, 446, 450, 454, 458, 462, 466, 470, 474, 478, 480, 484, 492, 496, 498, 499, 500,
    504, 508, 512, 516, 520, 524, 528, 531, 533, 534, 535, 540, 548, 554, 558, 562, 566, 570, 574, 578, 580, 581, 583,
    584, 585, 586, 591, 598, 600, 604, 608, 612, 616, 620, 624, 626, 630, 634, 638, 642, 643, 646, 652, 654, 659, 660,
    662, 663, 666, 670, 674, 678, 682, 686, 688, 690, 694, 702, 703, 704, 705, 706, 710, 716, 724, 728, 729, 732, 740,
    744, 748, 752, 756, 760, 762, 764, 768, 772, 776, 780, 784, 788, 792, 795, 796, 798, 800, 804, 807, 818, 826, 831,
    832, 833, 834, 840, 850, 854, 858, 860, 862, 876, 882, 887, 894,
];

/// The digits of a chip as it was written: spaces, dots and hyphens taken out.
pub fn chip_digits(written: &str) -> String {
    written.trim().chars().filter(|c| !(c.is_whitespace() || matches!(c, '.' | '-'))).collect()
}

/// What is wrong with a chip; none when it is in order or empty.
///
/// # Reference
/// ISO 11784: 15 digits, the first three an ISO 3166 numeric country or a maker's code 900 to 998 (999 is for
/// tests), the last twelve at most 274 877 906 943, which is 2^38 - 1.
///
/// # Example
/// ```
/// use app::shop::chip_fault;
/// assert!(chip_fault("276 000 312 312 345").is_none());
/// assert!(chip_fault("276274877906944").is_some());
/// ```
pub fn chip_fault(written: &str) -> Option<Said> {
    let digits = chip_digits(written);
    if digits.is_empty() {
        return None;
    }
    let said = |message: String, hint: &str| Some(Said::new("chip", message, hint));
    if !digits.bytes().all(|b| b.is_ascii_digit()) {
        return said(
            "the microchip has other characters than digits".into(),
            "Read it again; older chips of 9 or 10 characters may be kept as they are.",
        );
    }
    if digits.len() != 15 {
        return said(
            format!("the microchip has `{} digits`, not `15`", digits.len()),
            "Count again what the reader shows; older chips of 9 or 10 characters may be kept as they are.",
        );
    }
    let prefix: u16 = digits[..3].parse().unwrap_or(0);
    if prefix == 999 {
        return said("a microchip that begins with `999` is for tests".into(), "Read the dog's own chip.");
    }
    if !(900..=998).contains(&prefix) && COUNTRIES.binary_search(&prefix).is_err() {
        return said(
            format!("the microchip begins with `{}`, which is neither a country nor a maker", &digits[..3]),
            "Compare the first three digits with the papers.",
        );
    }
    let animal: u64 = digits[3..].parse().unwrap_or(u64::MAX);
    if animal > LARGEST {
        return said(
            format!("the microchip ends in `{}`, more than `{LARGEST}`", &digits[3..]),
            "Compare the last twelve digits with the papers.",
        );
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn countries_are_in_order_and_some_are_known() {
        assert!(COUNTRIES.windows(2).all(|w| w[0] < w[1]));
        // Germany, Ireland, the United Kingdom, the United States, Japan, Sweden.
        for code in [276, 372, 826, 840, 392, 752] {
            assert!(COUNTRIES.contains(&code), "{code}");
        }
    }

    /// Outside check 17: ISO 11784.
    #[test]
    fn chips_by_iso_11784() {
        for good in [
            "276000312312345",
            "276.000.312.312.345",
            " 372 098 100 000 001 ",
            "900274877906943",
            "998000000000000",
            "",
        ] {
            assert_eq!(chip_fault(good), None, "{good}");
        }
        for bad in [
            "276274877906944",
            "27600031231234",
            "2760003123123456",
            "999000000000001",
            "899000000000001",
            "000000000000001",
            "27600031231234x",
            "２７６０００３１２３１２３４５",
        ] {
            assert_eq!(chip_fault(bad).map(|s| s.field), Some("chip".to_owned()), "{bad}");
        }
    }
}
