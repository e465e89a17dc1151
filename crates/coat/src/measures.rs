//! The measures that a groomer reads off a coat.

use crate::dog::{DogCoat, ZoneCoat};
use crate::population::Population;
use crate::zone::{Mode, Zone};

/// The measures of one zone on one day; none where a measure is not defined.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ZoneMeasures {
    /// Which zone.
    pub zone: Zone,
    /// Visible share of follicles.
    pub cover: Option<f64>,
    /// Ripe share of follicles.
    pub ripe: Option<f64>,
    /// 90th percentile of visible hair length, mm.
    pub top_mm: Option<f64>,
    /// Number of layers, layered zones only.
    pub layers: Option<u32>,
    /// Closeness to an evenly staggered coat, layered zones only.
    pub evenness: Option<f64>,
    /// Hard share of the visible hair.
    pub hard: Option<f64>,
    /// Ripe share of the undercoat.
    pub wool: Option<f64>,
}

/// Area-weighted means over the zones where a measure is defined.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct DogMeasures {
    /// Cover.
    pub cover: Option<f64>,
    /// Ripe.
    pub ripe: Option<f64>,
    /// Evenness.
    pub evenness: Option<f64>,
    /// Hard.
    pub hard: Option<f64>,
}

/// What is read off a topcoat.
#[derive(Clone, Copy, Debug)]
pub(crate) struct TopMeasures {
    cover: f64,
    ripe: f64,
    top_mm: Option<f64>,
    even: Option<(f64, u32)>,
    hard: Option<f64>,
}

impl TopMeasures {
    pub(crate) fn of(top: &Population, layered: bool) -> Self {
        TopMeasures {
            cover: top.visible(),
            ripe: top.ripe(),
            top_mm: top.top_mm(),
            even: layered.then(|| top.evenness()),
            hard: top.hard(),
        }
    }
}

impl ZoneMeasures {
    /// A zone of which nothing is defined.
    pub(crate) fn none(zone: Zone) -> Self {
        ZoneMeasures {
            zone,
            cover: None,
            ripe: None,
            top_mm: None,
            layers: None,
            evenness: None,
            hard: None,
            wool: None,
        }
    }

    pub(crate) fn set_top(&mut self, top: &TopMeasures) {
        self.cover = Some(top.cover);
        self.ripe = Some(top.ripe);
        self.top_mm = top.top_mm;
        self.layers = top.even.map(|e| e.1);
        self.evenness = top.even.map(|e| e.0);
        self.hard = top.hard;
    }
}

impl ZoneCoat {
    /// All measures of the zone as it stands.
    pub fn measures(&self) -> ZoneMeasures {
        let mut out = ZoneMeasures::none(self.setup.zone);
        if self.setup.mode != Mode::Never {
            out.set_top(&TopMeasures::of(&self.top, self.setup.mode == Mode::Layered));
            out.wool = Some(self.wool());
        }
        out
    }
}

impl DogCoat {
    /// The measures of every zone and of the dog.
    pub fn measures(&self) -> (DogMeasures, Vec<ZoneMeasures>) {
        let zones: Vec<ZoneMeasures> = self.zones.iter().map(ZoneCoat::measures).collect();
        (dog_measures(&zones), zones)
    }
}

/// Area-weighted means of zone measures.
pub fn dog_measures(zones: &[ZoneMeasures]) -> DogMeasures {
    let mean = |read: fn(&ZoneMeasures) -> Option<f64>| {
        let (mut sum, mut area) = (0.0, 0.0);
        for z in zones {
            if let Some(x) = read(z) {
                let a = z.zone.defaults().area;
                sum += a * x;
                area += a;
            }
        }
        (area > 0.0).then(|| sum / area)
    };
    DogMeasures {
        cover: mean(|z| z.cover),
        ripe: mean(|z| z.ripe),
        evenness: mean(|z| z.evenness),
        hard: mean(|z| z.hard),
    }
}
