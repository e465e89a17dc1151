//! Writes the dog in every theme to the directory named on the command line.

use coat::Zone;
use paper::drawing::{DrawingOptions, Theme, ZoneLook, dog_svg};

fn main() -> std::io::Result<()> {
    let dir = std::env::args().nth(1).unwrap_or_else(|| ".".to_owned());
    for (name, theme, valued) in [
        ("plain", Theme::Light, false),
        ("light", Theme::Light, true),
        ("dark", Theme::Dark, true),
        ("print", Theme::Print, true),
        ("printplain", Theme::Print, false),
    ] {
        let looks: Vec<ZoneLook> = Zone::ALL
            .into_iter()
            .enumerate()
            .map(|(i, zone)| {
                let value = f64::from((i as u32 * 37 + 11) % 100) / 100.0;
                ZoneLook {
                    zone,
                    value: (valued && zone != Zone::InnerThighs).then_some(value),
                    label: if valued { format!("{:.0}", value * 100.0) } else { String::new() },
                    caution: valued && matches!(zone, Zone::Throat | Zone::Ears),
                    emphasised: valued && zone == Zone::Shoulders,
                }
            })
            .collect();
        let options = DrawingOptions {
            theme,
            title: "A rough-coated dog in its zones".to_owned(),
            description: "The dog from the side and its head from the front.".to_owned(),
            scale_caption: "0 %|Hair ripe enough to come out|100 %".to_owned(),
            legend: valued,
            labels: true,
        };
        std::fs::write(format!("{dir}/{name}.svg"), dog_svg(&looks, &options))?;
    }
    Ok(())
}
