//! Whose rules: what the models say of their site, else the United Kingdom, never in silence.

use crate::PackChoice;
use wimble_ifc::Region;
use wimble_rules::{PackSet, UnknownPack};

/// Countries by the words that models use for them.
const COUNTRIES: &[(&str, &[&str])] = &[
    (
        "GB",
        &[
            "gb",
            "gbr",
            "uk",
            "u.k.",
            "united kingdom",
            "great britain",
            "britain",
            "england",
            "scotland",
            "wales",
            "northern ireland",
            "vereinigtes königreich",
            "großbritannien",
            "royaume-uni",
            "verenigd koninkrijk",
        ],
    ),
    ("IE", &["ie", "irl", "ireland", "éire", "eire", "republic of ireland"]),
    (
        "US",
        &["us", "usa", "u.s.a.", "united states", "united states of america", "vereinigte staaten"],
    ),
    ("CA", &["ca", "can", "canada"]),
    ("AU", &["au", "aus", "australia"]),
    ("NZ", &["nz", "nzl", "new zealand", "aotearoa"]),
    ("DE", &["de", "deu", "germany", "deutschland", "allemagne", "duitsland"]),
    ("SE", &["se", "swe", "sweden", "sverige", "schweden"]),
    ("NL", &["nl", "nld", "netherlands", "the netherlands", "nederland", "niederlande"]),
];
/// Coordinate reference systems that lie in one country.
const SYSTEMS: &[(&str, &[&str])] =
    &[("GB", &["epsg:27700", "epsg:7405", "epsg:29902", "osgb", "british national grid"])];
/// Where nothing is said.
const ASSUMED: &str = "GB";

/// Whose rules are in force, and why.
pub(crate) struct Place {
    /// Country code.
    pub(crate) code: &'static str,
    /// The assumption to print.
    pub(crate) sentence: String,
}

impl Place {
    /// From what the models say; the first that says something we have rules for counts.
    pub(crate) fn of(regions: impl IntoIterator<Item = Region>) -> Self {
        let mut elsewhere = None;
        for region in regions {
            if let Some(country) = region.country.as_deref().filter(|c| !c.trim().is_empty()) {
                if let Some(code) = find(COUNTRIES, |word| country.trim().to_lowercase() == word) {
                    return Self::told(code, &format!("from the address: {}", country.trim()));
                }
                elsewhere.get_or_insert_with(|| country.trim().to_owned());
            }
            if let Some(crs) = region.crs_name.as_deref()
                && let Some(code) = find(SYSTEMS, |word| crs.to_lowercase().contains(word))
            {
                return Self::told(code, &format!("from the coordinate system: {}", crs.trim()));
            }
        }
        let name = name_of(ASSUMED);
        let sentence = match elsewhere {
            Some(country) => format!(
                "Rules: {name} (assumed: the address says {country}, for which there is no set of \
                 packs; name packs or a region in the settings)"
            ),
            None => format!("Rules: {name} (assumed)"),
        };
        Self { code: ASSUMED, sentence }
    }

    fn told(code: &'static str, why: &str) -> Self {
        Self { code, sentence: format!("Rules: {} ({why})", name_of(code)) }
    }
}

fn find(table: &[(&'static str, &[&str])], fits: impl Fn(&str) -> bool) -> Option<&'static str> {
    table.iter().find(|(_, words)| words.iter().any(|word| fits(word))).map(|(code, _)| *code)
}

/// The packs where there is no model to say the place: as chosen, else those of the United Kingdom,
/// said as an assumption; with the sentence for the head of the report.
pub(crate) fn packs_without_a_model(
    known: PackSet,
    choice: &PackChoice,
) -> Result<(PackSet, String), UnknownPack> {
    match choice {
        PackChoice::Named(ids) => {
            Ok((known.choose(ids)?, format!("Rules: {} (stated)", ids.join(", "))))
        }
        PackChoice::Region(code) => {
            Ok((known.region_set(code)?, format!("Rules: {} (stated)", name_of(code))))
        }
        PackChoice::BySite => {
            let place = Place::of([]);
            Ok((known.region_set(place.code)?, place.sentence))
        }
    }
}

/// Name of a region that has a set of packs; of any other its code.
pub(crate) fn name_of(code: &str) -> String {
    PackSet::regions()
        .find(|(known, _)| known.eq_ignore_ascii_case(code))
        .map_or_else(|| code.to_owned(), |(_, name)| name.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn country(name: &str) -> Region {
        Region { country: Some(name.into()), ..Region::default() }
    }

    #[test]
    fn without_a_hint_the_united_kingdom_is_assumed_and_said() {
        let place = Place::of([Region::default()]);
        assert_eq!(
            (place.code, place.sentence.as_str()),
            ("GB", "Rules: United Kingdom (assumed)")
        );
    }

    #[test]
    fn the_address_or_the_coordinate_system_tells() {
        let place = Place::of([Region::default(), country(" England ")]);
        assert_eq!(place.sentence, "Rules: United Kingdom (from the address: England)");
        let grid = Region { crs_name: Some("EPSG:27700".into()), ..Region::default() };
        assert!(Place::of([grid]).sentence.contains("coordinate system: EPSG:27700"));
    }

    #[test]
    fn every_region_with_a_set_has_its_words_and_every_word_a_set() {
        let sets: Vec<&str> = PackSet::regions().map(|(code, _)| code).collect();
        let words: Vec<&str> = COUNTRIES.iter().map(|(code, _)| *code).collect();
        assert_eq!(words, sets);
        assert_eq!(Place::of([country("Sverige")]).code, "SE");
    }

    #[test]
    fn another_country_is_named_and_not_taken_for_the_united_kingdom() {
        let sentence = Place::of([country("Österreich")]).sentence;
        assert!(sentence.contains("assumed: the address says Österreich"), "{sentence}");
    }
}
