//! What the user may set about crossings.

use wimble_model::{Lagging, Service, ServiceKind, ServiceMaterial, ServiceShape, Trade};

/// Settings of `[cut]`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct CrossSettings {
    /// How much larger than the service its cut is made.
    pub clearance: Clearance,
    /// Whether lagging passes through timber.
    pub lagging: LaggingMode,
}

/// Whether lagging passes through timber.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LaggingMode {
    /// Pipes pass bare; chilled, refrigerant and air services keep a lagging that is modelled; a
    /// wrap is added to a water or heating pipe whose lagging is modelled.
    #[default]
    Bare,
    /// Every water and heating pipe has a wrap.
    Wrap,
    /// Every lagging that is modelled passes through.
    Through,
}

impl LaggingMode {
    /// The mode that the settings' word names.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        match word {
            "bare" => Some(Self::Bare),
            "wrap" => Some(Self::Wrap),
            "through" => Some(Self::Through),
            _ => None,
        }
    }
}

/// Thickness of a wrap on each side (published; `practice.md`, lagging), mm.
const WRAP_MM: f64 = 2.0;
/// Plastic pipe above this counts as any other pipe (common practice), mm.
const SMALL_PLASTIC_MM: f64 = 22.0;

/// What a cut is larger than the service by, on the diameter (on each side of a rectangle in
/// all), millimetres. The defaults are common practice; carriers other than conduit, and what no
/// one can tell, are our own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clearance {
    /// Metal pipe, and pipe of unknown make.
    pub pipe_mm: f64,
    /// Plastic and multilayer pipe up to 22 mm.
    pub pipe_plastic_mm: f64,
    /// Waste with solvent joints or unknown ones.
    pub waste_mm: f64,
    /// Waste with push-fit joints.
    pub waste_push_fit_mm: f64,
    /// Soil.
    pub soil_mm: f64,
    /// Ducts, and flues.
    pub duct_mm: f64,
    /// Cables.
    pub cable_mm: f64,
    /// Conduit.
    pub conduit_mm: f64,
    /// Trunking, trays, ladders.
    pub carrier_mm: f64,
    /// Anything else.
    pub other_mm: f64,
    /// Added to the least circle round a bunch of cables: sizes the bit, never the envelope.
    pub cable_bunch_mm: f64,
    /// The least tool for cables: sizes the bit, never the envelope.
    pub cable_tool_mm: f64,
}

impl Default for Clearance {
    fn default() -> Self {
        Self {
            pipe_mm: 5.0,
            pipe_plastic_mm: 4.0,
            waste_mm: 5.0,
            waste_push_fit_mm: 4.0,
            soil_mm: 10.0,
            duct_mm: 10.0,
            cable_mm: 4.0,
            conduit_mm: 2.0,
            carrier_mm: 10.0,
            other_mm: 5.0,
            cable_bunch_mm: 6.0,
            cable_tool_mm: 16.0,
        }
    }
}

/// A kind by which the settings may give a clearance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ClearanceKind {
    /// Metal pipe, and pipe of unknown make.
    Pipe,
    /// Plastic and multilayer pipe up to 22 mm.
    PipePlastic,
    /// Waste of any joint.
    Waste,
    /// Soil.
    Soil,
    /// Ducts, and flues.
    Duct,
    /// Cables.
    Cable,
    /// Conduit.
    Conduit,
    /// Trunking, trays, ladders.
    Carrier,
    /// Anything else.
    Other,
}

impl ClearanceKind {
    /// All of them, in the order of the documents.
    pub const ALL: [Self; 9] = [
        Self::Pipe,
        Self::PipePlastic,
        Self::Waste,
        Self::Soil,
        Self::Duct,
        Self::Cable,
        Self::Conduit,
        Self::Carrier,
        Self::Other,
    ];

    /// The word of the settings.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Pipe => "pipe",
            Self::PipePlastic => "pipe-plastic",
            Self::Waste => "waste",
            Self::Soil => "soil",
            Self::Duct => "duct",
            Self::Cable => "cable",
            Self::Conduit => "conduit",
            Self::Carrier => "carrier",
            Self::Other => "other",
        }
    }

    /// The kind that a word of the settings names.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.word() == word)
    }

    /// The kind that decides a service's clearance.
    #[must_use]
    pub fn of(service: &Service) -> Self {
        match (service.kind, service.trade) {
            (ServiceKind::Cable, _) => Self::Cable,
            (ServiceKind::Carrier, _) if matches!(service.shape, ServiceShape::RoundMm(_)) => {
                Self::Conduit
            }
            (ServiceKind::Carrier, _) => Self::Carrier,
            (ServiceKind::Duct, _) | (_, Trade::Air | Trade::Flue) => Self::Duct,
            (_, Trade::Soil) => Self::Soil,
            (_, Trade::Waste) => Self::Waste,
            (_, Trade::Gas | Trade::Heating | Trade::Water | Trade::Chilled)
            | (ServiceKind::Pipe, _) => Self::pipe(service),
            (ServiceKind::Fitting, Trade::Electric) => Self::Carrier,
            _ => Self::Other,
        }
    }

    fn pipe(service: &Service) -> Self {
        let plastic =
            matches!(service.material, ServiceMaterial::Plastic | ServiceMaterial::PushFit);
        let small = match service.shape {
            ServiceShape::RoundMm(diameter) => diameter <= SMALL_PLASTIC_MM,
            _ => false,
        };
        if plastic && small { Self::PipePlastic } else { Self::Pipe }
    }
}

impl Clearance {
    /// One figure in place of every default: for a bunch of cables too, and no least tool.
    #[must_use]
    pub const fn one(mm: f64) -> Self {
        Self {
            pipe_mm: mm,
            pipe_plastic_mm: mm,
            waste_mm: mm,
            waste_push_fit_mm: mm,
            soil_mm: mm,
            duct_mm: mm,
            cable_mm: mm,
            conduit_mm: mm,
            carrier_mm: mm,
            other_mm: mm,
            cable_bunch_mm: mm,
            cable_tool_mm: 0.0,
        }
    }

    /// A figure in place of the default for one kind. For cables it also stands for a bunch.
    pub const fn set(&mut self, kind: ClearanceKind, mm: f64) {
        match kind {
            ClearanceKind::Pipe => self.pipe_mm = mm,
            ClearanceKind::PipePlastic => self.pipe_plastic_mm = mm,
            ClearanceKind::Waste => {
                self.waste_mm = mm;
                self.waste_push_fit_mm = mm;
            }
            ClearanceKind::Soil => self.soil_mm = mm,
            ClearanceKind::Duct => self.duct_mm = mm,
            ClearanceKind::Cable => {
                self.cable_mm = mm;
                self.cable_bunch_mm = mm;
            }
            ClearanceKind::Conduit => self.conduit_mm = mm,
            ClearanceKind::Carrier => self.carrier_mm = mm,
            ClearanceKind::Other => self.other_mm = mm,
        }
    }

    /// The clearance of a service, mm on the diameter.
    #[must_use]
    pub fn of(&self, service: &Service) -> f64 {
        match ClearanceKind::of(service) {
            ClearanceKind::Pipe => self.pipe_mm,
            ClearanceKind::PipePlastic => self.pipe_plastic_mm,
            ClearanceKind::Waste if service.material == ServiceMaterial::PushFit => {
                self.waste_push_fit_mm
            }
            ClearanceKind::Waste => self.waste_mm,
            ClearanceKind::Soil => self.soil_mm,
            ClearanceKind::Duct => self.duct_mm,
            ClearanceKind::Cable => self.cable_mm,
            ClearanceKind::Conduit => self.conduit_mm,
            ClearanceKind::Carrier => self.carrier_mm,
            ClearanceKind::Other => self.other_mm,
        }
    }
}

/// How a service passes through timber.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Passage {
    /// Lagging that passes with it: part of the bare service, mm on each side.
    pub(crate) lagging_mm: f64,
    /// What the cut is larger by, mm on each side: half the clearance, and a wrap.
    pub(crate) grow_mm: f64,
    /// Its lagging passes through, but its thickness is not in the model.
    pub(crate) lagging_unknown: bool,
    /// Cables have a least tool, and a clearance as a bunch.
    pub(crate) cable: bool,
}

impl Passage {
    pub(crate) fn of(service: &Service, settings: &CrossSettings) -> Self {
        let always = matches!(service.trade, Trade::Chilled | Trade::Air);
        let wrapped = matches!(service.trade, Trade::Heating | Trade::Water);
        let mode = settings.lagging;
        let covering = match service.lagging {
            Lagging::Covering { thickness_mm } => Some(thickness_mm),
            Lagging::None | Lagging::InTheSolid => None,
        };
        let through = covering.filter(|_| always || mode == LaggingMode::Through);
        let wrap = wrapped
            && through.is_none()
            && (mode == LaggingMode::Wrap || (mode == LaggingMode::Bare && covering.is_some()));
        Self {
            lagging_mm: through.unwrap_or(0.0).max(0.0),
            grow_mm: settings.clearance.of(service) / 2.0 + if wrap { WRAP_MM } else { 0.0 },
            lagging_unknown: through.is_some_and(|t| t <= 0.0),
            cable: service.kind == ServiceKind::Cable,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::service;

    fn with(kind: ServiceKind, trade: Trade, material: ServiceMaterial, od: f64) -> Service {
        Service { kind, trade, material, ..service(od) }
    }

    #[test]
    fn default_clearances_are_those_of_practice() {
        use {ServiceKind as K, ServiceMaterial as M, Trade as T};
        // `practice.md`, defaults (common practice).
        for (kind, trade, material, od, expected) in [
            (K::Pipe, T::Heating, M::Metal, 22.0, 5.0),
            (K::Pipe, T::Gas, M::Metal, 28.0, 5.0),
            (K::Pipe, T::Water, M::Plastic, 15.0, 4.0),
            (K::Pipe, T::Water, M::Plastic, 28.0, 5.0),
            (K::Pipe, T::Waste, M::PushFit, 43.0, 4.0),
            (K::Pipe, T::Waste, M::Solvent, 43.0, 5.0),
            (K::Fitting, T::Waste, M::NotStated, 43.0, 5.0),
            (K::Pipe, T::Soil, M::Plastic, 110.0, 10.0),
            (K::Duct, T::Air, M::NotStated, 125.0, 10.0),
            (K::Cable, T::Electric, M::NotStated, 12.0, 4.0),
            (K::Carrier, T::Electric, M::NotStated, 25.0, 2.0),
            (K::Pipe, T::Unknown, M::NotStated, 22.0, 5.0),
        ] {
            let service = with(kind, trade, material, od);
            assert_eq!(Clearance::default().of(&service), expected, "{kind:?} {trade:?} {od}");
            assert_eq!(Clearance::one(7.0).of(&service), 7.0);
        }
    }

    #[test]
    fn a_table_sets_the_kinds_it_names() {
        let mut table = Clearance::default();
        for (n, kind) in ClearanceKind::ALL.into_iter().enumerate() {
            assert_eq!(ClearanceKind::from_word(kind.word()), Some(kind));
            table.set(kind, 20.0 + n as f64);
        }
        let push_fit = with(ServiceKind::Pipe, Trade::Waste, ServiceMaterial::PushFit, 43.0);
        assert_eq!(table.of(&push_fit), 22.0);
        assert_eq!(ClearanceKind::from_word("pipes"), None);
    }

    #[test]
    fn lagging_passes_only_where_practice_says_so() {
        let lagged = |trade| Service {
            lagging: Lagging::Covering { thickness_mm: 19.0 },
            ..with(ServiceKind::Pipe, trade, ServiceMaterial::Metal, 22.0)
        };
        let passage = |service: &Service, lagging| {
            let p = Passage::of(service, &CrossSettings { lagging, ..Default::default() });
            (p.lagging_mm, p.grow_mm)
        };
        // Bare: heating bare with a wrap where lagging is modelled, chilled with its lagging.
        assert_eq!(passage(&lagged(Trade::Heating), LaggingMode::Bare), (0.0, 4.5));
        assert_eq!(passage(&lagged(Trade::Chilled), LaggingMode::Bare), (19.0, 2.5));
        assert_eq!(passage(&lagged(Trade::Gas), LaggingMode::Bare), (0.0, 2.5));
        assert_eq!(passage(&lagged(Trade::Heating), LaggingMode::Through), (19.0, 2.5));
        let bare = with(ServiceKind::Pipe, Trade::Heating, ServiceMaterial::Metal, 22.0);
        assert_eq!(passage(&bare, LaggingMode::Bare), (0.0, 2.5));
        assert_eq!(passage(&bare, LaggingMode::Wrap), (0.0, 4.5));
    }

    #[test]
    fn lagging_of_unknown_thickness_that_passes_is_told() {
        let chilled = Service {
            lagging: Lagging::Covering { thickness_mm: 0.0 },
            ..with(ServiceKind::Pipe, Trade::Chilled, ServiceMaterial::Metal, 22.0)
        };
        assert!(Passage::of(&chilled, &CrossSettings::default()).lagging_unknown);
    }
}
