//! The dog with every zone shaded by one measure of its coat.

use super::{DrawingOptions, HEIGHT, WIDTH, ZoneLook, body, escape};
use crate::dates;
use crate::fonts::{self, Weight};
use crate::options::Units;
use crate::section::text;
use crate::theme::Theme;
use app::report::{CoatReport, ZoneCoatReport};
use coat::Zone;

/// The top length that fills the scale, mm; the longest furnishings of a show coat lie above it.
const LONG_MM: f64 = 60.0;

/// What the zones are shaded by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Shade {
    /// Ripe share of the hair one sees.
    Ripe,
    /// Share of the follicles with visible hair.
    Cover,
    /// Closeness to an even coat.
    Evenness,
    /// Hard share of the hair one sees.
    Hard,
    /// Top length.
    Top,
    /// Ripe share of the undercoat.
    Wool,
}

impl Shade {
    /// All of them, the most asked for first.
    pub const ALL: [Shade; 6] = [Shade::Ripe, Shade::Cover, Shade::Evenness, Shade::Hard, Shade::Top, Shade::Wool];

    /// The name as spoken.
    pub const fn word(self) -> &'static str {
        match self {
            Shade::Ripe => "ripe",
            Shade::Cover => "cover",
            Shade::Evenness => "evenness",
            Shade::Hard => "hard",
            Shade::Top => "top length",
            Shade::Wool => "wool",
        }
    }

    /// What is seen, to follow "how much" or "how".
    const fn question(self) -> &'static str {
        match self {
            Shade::Ripe => "how much of the hair one sees is ripe",
            Shade::Cover => "how much of the skin is covered",
            Shade::Evenness => "how evenly the layers follow one another",
            Shade::Hard => "how much of the hair one sees is hard",
            Shade::Top => "how long the longest hair is",
            Shade::Wool => "how much of the undercoat is loose wool",
        }
    }

    /// The scale's low end, name and high end.
    fn caption(self, units: Units) -> String {
        match self {
            Shade::Ripe => "0 %|ripe share of the hair one sees|100 %".to_owned(),
            Shade::Cover => "0 %|share of the follicles with hair one sees|100 %".to_owned(),
            Shade::Evenness => "0 %, one age|evenness of the layers|100 %".to_owned(),
            Shade::Hard => "0 %|hard share of the hair one sees|100 %".to_owned(),
            Shade::Top => format!("0|top length in {}|{} or more", units.spoken(), units.length(LONG_MM)),
            Shade::Wool => "0 %|loose share of the undercoat|100 %".to_owned(),
        }
    }

    /// The measure of a zone: a share, or mm; none where it is not defined.
    fn read(self, z: &ZoneCoatReport) -> Option<f64> {
        match self {
            // A share of next to nothing says nothing.
            Shade::Ripe => Some(z.ripe? / z.cover.filter(|c| *c > 0.02)?),
            Shade::Cover => z.cover,
            Shade::Evenness => z.evenness,
            Shade::Hard => z.hard,
            Shade::Top => z.top_mm,
            Shade::Wool => z.wool,
        }
    }

    /// The unit of the numbers, which the scale shows beside them.
    const fn unit(self, units: Units) -> &'static str {
        match self {
            Shade::Top => units.word(),
            _ => "%",
        }
    }

    /// The number as written on a zone.
    fn label(self, value: f64, units: Units) -> String {
        match (self, units) {
            (Shade::Top, Units::Mm) => format!("{value:.0}"),
            (Shade::Top, Units::Inch) => format!("{:.1}", units.number(value)),
            _ => format!("{:.0}", 100.0 * value),
        }
    }
}

/// How each zone looks when the coat is shaded by a measure.
pub fn looks(coat: &CoatReport, by: Shade, units: Units) -> Vec<ZoneLook> {
    Zone::ALL
        .into_iter()
        .map(|zone| {
            let found = coat.zones.iter().find(|z| z.zone == zone.word()).and_then(|z| by.read(z));
            let label = found.map_or_else(String::new, |v| by.label(v, units));
            let value = found.map(|v| if by == Shade::Top { (v / LONG_MM).min(1.0) } else { v });
            ZoneLook { zone, value, label, caution: false, emphasised: false }
        })
        .collect()
}

/// What to see, in one sentence: where there is most and where least.
fn headline(looks: &[ZoneLook], by: Shade, units: Units) -> String {
    let (what, most, least) = match by {
        Shade::Ripe => ("Ripe hair", "most", "least"),
        Shade::Cover => ("Cover", "fullest", "thinnest"),
        Shade::Evenness => ("Layers", "most even", "least even"),
        Shade::Hard => ("Hard hair", "most", "least"),
        Shade::Top => ("Top length", "longest", "shortest"),
        Shade::Wool => ("Loose wool", "most", "least"),
    };
    // Of zones that show the same, the largest is named.
    let mut known: Vec<&ZoneLook> = looks.iter().filter(|l| l.value.is_some()).collect();
    known.sort_by(|a, b| b.zone.defaults().area.total_cmp(&a.zone.defaults().area));
    let value = |l: &ZoneLook| l.value.unwrap_or(0.0);
    // The label of the largest number is not always of the fullest zone of a scale that ends.
    let number = |l: &ZoneLook| l.label.parse().unwrap_or_else(|_| value(l));
    let high = known.iter().copied().reduce(|a, b| if number(b) > number(a) { b } else { a });
    let low = known.iter().copied().reduce(|a, b| if number(b) < number(a) { b } else { a });
    let unit = by.unit(units);
    match (high, low) {
        (Some(h), Some(l)) if h.label == l.label => format!("{what}: {} {unit} everywhere", h.label),
        (Some(h), Some(l)) => format!(
            "{what}: {most} on the {} ({} {unit}), {least} on the {} ({} {unit})",
            h.zone.label(),
            h.label,
            l.zone.label(),
            l.label
        ),
        _ => format!("{what}: nothing to show"),
    }
}

const TITLE: f64 = 19.0;
const SUBTITLE: f64 = 14.0;
const MARGIN: f64 = 18.0;

/// The dog on the day of a coat under a title, every zone shaded by a measure and carrying its number.
pub fn shaded_svg(dog: &str, coat: &CoatReport, by: Shade, theme: Theme, units: Units) -> String {
    let looks = looks(coat, by, units);
    let unit = by.unit(units);
    let said: Vec<String> =
        looks.iter().filter(|l| l.value.is_some()).map(|l| format!("{} {} {unit}", l.zone.label(), l.label)).collect();
    let options = DrawingOptions {
        theme,
        title: format!("{dog} on {}: {}", dates::spoken(&coat.date), by.question()),
        description: said.join(", "),
        scale_caption: by.caption(units),
        legend: true,
        labels: true,
    };
    let p = theme.palette();
    let mut head = String::new();
    let mut y = 12.0;
    for line in fonts::wrap(&headline(&looks, by, units), TITLE, Weight::Bold, WIDTH - 2.0 * MARGIN, 2) {
        y += TITLE * 1.2;
        text(&mut head, MARGIN, y, TITLE, true, p.text, "start", &line);
    }
    y += SUBTITLE * 1.5;
    let date = format!(" · {}", dates::spoken(&coat.date));
    let room = WIDTH - 2.0 * MARGIN - fonts::width(&date, SUBTITLE, Weight::Regular);
    let name = format!("{}{date}", fonts::fit(dog, SUBTITLE, Weight::Regular, room));
    text(&mut head, MARGIN, y, SUBTITLE, false, p.quiet, "start", &name);
    y += 8.0;
    let height = y + HEIGHT;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height:.0}\" font-family=\"{}\" role=\"img\" \
         aria-labelledby=\"dog-title dog-desc\">\n<title id=\"dog-title\">{}</title>\n<desc id=\"dog-desc\">{}</desc>\n\
         <rect width=\"{WIDTH}\" height=\"{height:.0}\" fill=\"{}\"/>\n{head}<g transform=\"translate(0 {y:.1})\">\n{}</g>\n</svg>\n",
        fonts::FAMILIES,
        escape(&options.title),
        escape(&options.description),
        p.paper,
        body(&looks, &options)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;

    #[test]
    fn every_measure_shades_what_is_known_and_says_it() {
        let report = fixture::plan("Žofka", 0);
        let coat = &report.forecast[0];
        for by in Shade::ALL {
            for units in [Units::Mm, Units::Inch] {
                let all = looks(coat, by, units);
                assert_eq!(all.len(), Zone::ALL.len());
                for look in &all {
                    let known = coat.zones.iter().find(|z| z.zone == look.zone.word()).and_then(|z| by.read(z));
                    assert_eq!(look.value.is_some(), known.is_some(), "{} {}", by.word(), look.zone.word());
                    assert!(look.value.is_none_or(|v| (0.0..=1.0 + 1e-9).contains(&v)), "{look:?}");
                    assert!(look.label.chars().count() <= 4, "{look:?}");
                }
                let svg = shaded_svg("Žofka", coat, by, Theme::Light, units);
                assert!(roxmltree::Document::parse(&svg).is_ok(), "{}", by.word());
                assert!(svg.contains(by.question()), "{}", by.word());
                let doc = roxmltree::Document::parse(&svg).unwrap();
                let seen: Vec<&str> =
                    doc.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).collect();
                assert!(seen.contains(&"Žofka · 25 Nov 2026"), "{seen:?}");
                assert!(seen.contains(&headline(&looks(coat, by, units), by, units).as_str()), "{seen:?}");
            }
        }
    }

    #[test]
    fn the_title_says_where_there_is_most_and_least() {
        let mut coat = fixture::plan("Žofka", 0).forecast[0].clone();
        let say = |coat: &CoatReport, by, units| headline(&looks(coat, by, units), by, units);
        assert_eq!(say(&coat, Shade::Top, Units::Mm), "Top length: 30 mm everywhere");
        coat.zones.iter_mut().find(|z| z.zone == "beard").unwrap().top_mm = Some(103.0);
        coat.zones.iter_mut().find(|z| z.zone == "brows").unwrap().top_mm = Some(81.0);
        let said = say(&coat, Shade::Top, Units::Mm);
        assert_eq!(said, "Top length: longest on the beard (103 mm), shortest on the sides (30 mm)");
        coat.zones.iter_mut().find(|z| z.zone == "tail_back").unwrap().hard = Some(0.1);
        let said = say(&coat, Shade::Hard, Units::Inch);
        assert_eq!(said, "Hard hair: most on the sides (60 %), least on the back of the tail (10 %)");
        coat.zones.clear();
        assert_eq!(say(&coat, Shade::Wool, Units::Mm), "Loose wool: nothing to show");
    }

    #[test]
    fn a_ripe_share_of_bare_skin_is_not_known() {
        let mut coat = fixture::plan("Žofka", 0).forecast[0].clone();
        for z in &mut coat.zones {
            z.cover = Some(0.01);
            z.ripe = Some(0.01);
        }
        assert!(looks(&coat, Shade::Ripe, Units::Mm).iter().all(|l| l.value.is_none()));
    }
}
