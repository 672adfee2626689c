//! The rows of the table of countries.

use super::{Mains, Supply};
use voltwright_quantity::Source;

const HZ50: &[f64] = &[50.0];
const HZ60: &[f64] = &[60.0];
const BOTH: &[f64] = &[50.0, 60.0];

const AGREE: Source = Source::seen("IEC World Plugs (copy) and a second country list of 2017 agree");
const DIFFER: Source = Source::seen("IEC World Plugs (copy); a second country list of 2017 differs");
const ONE: Source = Source::seen("IEC World Plugs (copy)");

const OURS: Source = Source::practice("no tolerance found: ±10 % is our own default");
const SPAN: Source = Source::practice("our own choice: spans what disagreeing lists give, ±10 %");
const EN: Source = Source::seen("EN 50160: 95 % of 10-minute means within ±10 %");
const JP: Source = Source::seen("Electricity Business Act Enforcement Regulations art. 38 (Japan)");
const US: Source = Source::memory("ANSI C84.1 range A, utilisation; ±5 % at the service was seen");
const CA: Source = Source::memory("CSA C235, normal utilisation, low confidence");
const MX: Source = Source::memory("NMX-J-098, low confidence");
const BR: Source = Source::memory("PRODIST module 8, adequate band, low confidence");
const LOW: Source = Source::memory("national rule, low confidence");
const RULE: Source = Source::memory("national rule");
const GB: Source = Source::seen("IEE Regulations appendix 2, as quoted: 230 V +10/−6 %");
const AU: Source = Source::seen("AS 60038, as quoted");
const NZ: Source = Source::memory("Electricity (Safety) Regulations 2010");
const CN: Source = Source::memory("GB/T 12325");
const KR: Source = Source::memory("Electric Utility Act rules: 220 ± 13 V");
const ZA: Source = Source::memory("NRS 048-2");
const ID: Source = Source::memory("SPLN 1");

const DEEP: &str = "EN 50160 allows 195.5 V for 5 % of the time";

macro_rules! countries {
    ($($code:literal $country:literal
        [$(($volts:expr, -$below:expr, +$above:expr, $hertz:ident, $from:ident)),+]
        $plugs:literal $source:ident $note:expr;)+) => {
        /// Every country of the table, by region.
        pub static COUNTRIES: &[Mains] = &[$(Mains {
            code: $code,
            country: $country,
            supplies: &[$(Supply {
                volts: $volts, below: $below, above: $above, hertz: $hertz, tolerance_source: $from,
            }),+],
            plugs: $plugs,
            note: $note,
            source: $source,
        }),+];
    };
}

countries! {
    "JP" "Japan" [(100.0, -5.0, +7.0, BOTH, JP), (200.0, -9.0, +11.0, BOTH, JP)] "A B" DIFFER
        "50 Hz in the east, 60 Hz in the west; 101 ± 6 V by regulation, a booklet of 1989 says ±10 %";
    "US" "United States" [(120.0, -10.0, +5.0, HZ60, US)] "A B" AGREE
        "range B, for short times: 104 to 127 V at the outlet";
    "CA" "Canada" [(120.0, -10.0, +25.0 / 6.0, HZ60, CA)] "A B" AGREE
        "extreme band 104 to 127 V";
    "MX" "Mexico" [(127.0, -10.0, +10.0, HZ60, MX)] "A B" AGREE "";
    "BR" "Brazil" [(127.0, -7.9, +4.8, HZ60, BR), (220.0, -8.2, +5.0, HZ60, BR)] "C N" DIFFER
        "127 V or 220 V by region: measure at the outlet";
    "AR" "Argentina" [(220.0, -8.0, +8.0, HZ50, LOW)] "C I" AGREE "urban band";
    "CL" "Chile" [(220.0, -10.0, +10.0, HZ50, OURS)] "C L" DIFFER "";
    "CO" "Colombia" [(110.0, -10.0, +20.0, HZ60, SPAN)] "A B" AGREE
        "lists say 110 V, NTC 1340 says 120 V (from memory): the bounds span both";
    "PE" "Peru" [(220.0, -5.0, +5.0, HZ60, LOW)] "A B C" AGREE "";
    "VE" "Venezuela" [(120.0, -10.0, +10.0, HZ60, OURS)] "A B" AGREE "";
    "EC" "Ecuador" [(120.0, -10.0, +10.0, HZ60, OURS)] "A B" ONE "";
    "CU" "Cuba" [(110.0, -10.0, +10.0, HZ60, OURS)] "A B C" DIFFER "";
    "JM" "Jamaica" [(110.0, -10.0, +10.0, HZ50, OURS)] "A B" AGREE "";

    "GB" "United Kingdom" [(230.0, -6.0, +10.0, HZ50, GB)] "G" AGREE
        "240 V ± 6 % before 1995, and still about 240 V in most houses; fused plugs";
    "IE" "Ireland" [(230.0, -10.0, +10.0, HZ50, EN)] "G" AGREE
        "EN 50160 allows 195.5 V for 5 % of the time; fused plugs";
    "DE" "Germany" [(230.0, -10.0, +10.0, HZ50, EN)] "C F" AGREE DEEP;
    "ES" "Spain" [(230.0, -10.0, +10.0, HZ50, EN)] "C F" AGREE DEEP;
    "NL" "Netherlands" [(230.0, -10.0, +10.0, HZ50, EN)] "C F" AGREE DEEP;
    "AT" "Austria" [(230.0, -10.0, +10.0, HZ50, EN)] "C F" AGREE DEEP;
    "SE" "Sweden" [(230.0, -10.0, +10.0, HZ50, EN)] "C F" AGREE DEEP;
    "NO" "Norway" [(230.0, -10.0, +10.0, HZ50, EN)] "C F" AGREE DEEP;
    "FI" "Finland" [(230.0, -10.0, +10.0, HZ50, EN)] "C F" AGREE DEEP;
    "HU" "Hungary" [(230.0, -10.0, +10.0, HZ50, EN)] "C F" AGREE DEEP;
    "PT" "Portugal" [(230.0, -10.0, +10.0, HZ50, EN)] "C F" AGREE DEEP;
    "GR" "Greece" [(230.0, -10.0, +10.0, HZ50, EN)] "C F" AGREE DEEP;
    "IS" "Iceland" [(230.0, -10.0, +10.0, HZ50, EN)] "C F" AGREE DEEP;
    "RO" "Romania" [(230.0, -10.0, +10.0, HZ50, EN)] "C F" AGREE DEEP;
    "FR" "France" [(230.0, -10.0, +10.0, HZ50, EN)] "C E" AGREE DEEP;
    "BE" "Belgium" [(230.0, -10.0, +10.0, HZ50, EN)] "C E" AGREE DEEP;
    "PL" "Poland" [(230.0, -10.0, +10.0, HZ50, EN)] "C E" AGREE DEEP;
    "CZ" "Czech Republic" [(230.0, -10.0, +10.0, HZ50, EN)] "C E" AGREE DEEP;
    "IT" "Italy" [(230.0, -10.0, +10.0, HZ50, EN)] "C F L" AGREE DEEP;
    "DK" "Denmark" [(230.0, -10.0, +10.0, HZ50, EN)] "C E F K" AGREE DEEP;
    "CH" "Switzerland" [(230.0, -10.0, +10.0, HZ50, EN)] "C J" AGREE DEEP;
    "RU" "Russia" [(230.0, -14.0, +10.0, HZ50, SPAN)] "C F" DIFFER
        "lists say 220 V or 230 V; 230 V ± 10 % by GOST 29322-2014 (from memory): measure";
    "UA" "Ukraine" [(230.0, -14.0, +10.0, HZ50, SPAN)] "C F" DIFFER "lists say 220 V or 230 V: measure";
    "TR" "Turkey" [(230.0, -14.0, +10.0, HZ50, SPAN)] "C F" DIFFER "lists say 220 V or 230 V: measure";

    "AU" "Australia" [(230.0, -6.0, +10.0, HZ50, AU)] "I" AGREE
        "at the point of supply; wiring may take another 5 % (AS/NZS 3000, from memory)";
    "NZ" "New Zealand" [(230.0, -6.0, +6.0, HZ50, NZ)] "I" AGREE "";

    "CN" "China" [(220.0, -10.0, +7.0, HZ50, CN)] "A C I" AGREE "";
    "HK" "Hong Kong" [(220.0, -6.0, +6.0, HZ50, RULE)] "G D" ONE "";
    "TW" "Taiwan" [(110.0, -10.0, +10.0, HZ60, LOW)] "A B" AGREE "";
    "KR" "South Korea" [(220.0, -13.0 / 2.2, +13.0 / 2.2, HZ60, KR)] "C F" AGREE "older outlets: 110 ± 6 V (from memory)";
    "KP" "North Korea" [(220.0, -10.0, +10.0, BOTH, OURS), (110.0, -10.0, +10.0, BOTH, OURS)] "A C F" ONE "measure";
    "IN" "India" [(230.0, -10.0, +10.0, HZ50, RULE)] "C D M" AGREE
        "±6 % by the supply code, ±10 % by IS 12360 (from memory): the wider stands";
    "PK" "Pakistan" [(230.0, -5.0, +5.0, HZ50, LOW)] "C D G M" AGREE "";
    "BD" "Bangladesh" [(220.0, -10.0, +10.0, HZ50, OURS)] "C D G K" AGREE "";
    "LK" "Sri Lanka" [(230.0, -6.0, +6.0, HZ50, RULE)] "D G M" AGREE "";
    "TH" "Thailand" [(220.0, -10.0, +15.0, HZ50, SPAN)] "A B C F" AGREE
        "lists say 220 V, the utilities 230 V ± 10 % (from memory): the bounds span both";
    "VN" "Vietnam" [(220.0, -5.0, +5.0, HZ50, LOW)] "A C F G" DIFFER "lists disagree about plugs F and G";
    "MY" "Malaysia" [(230.0, -10.0, +14.8, HZ50, SPAN)] "G A C M" DIFFER
        "lists say 240 V or 230 V; 230 V +10/−6 % by MS IEC 60038 (from memory): measure";
    "SG" "Singapore" [(230.0, -6.0, +6.0, HZ50, RULE)] "C G M" AGREE "";
    "ID" "Indonesia" [(230.0, -10.0, +5.0, HZ50, ID)] "C F G" DIFFER
        "SPLN 1 says 230 V; lists say 220 V, and 110 V in old houses: measure";
    "PH" "Philippines" [(220.0, -10.0, +15.0, HZ60, SPAN)] "A B C" DIFFER
        "lists say 220 V, the distribution code 230 V ± 10 % (from memory); often two live conductors and no neutral";

    "ZA" "South Africa" [(230.0, -10.0, +10.0, HZ50, ZA)] "C D F M N" DIFFER "lists disagree about plugs D and F";
    "SA" "Saudi Arabia" [(230.0, -14.0, +10.0, HZ60, SPAN), (127.0, -10.0, +10.0, HZ60, OURS)] "A B G" DIFFER
        "lists say 220 V or 230 V; older houses have 127 V (from memory): measure";
    "AE" "United Arab Emirates" [(230.0, -14.0, +10.0, HZ50, SPAN)] "C D G" DIFFER
        "lists say 220 V or 230 V: measure";
    "KW" "Kuwait" [(240.0, -10.0, +10.0, HZ50, OURS)] "C G" AGREE "";
    "EG" "Egypt" [(220.0, -10.0, +10.0, HZ50, OURS)] "C F" AGREE "";
    "IL" "Israel" [(230.0, -10.0, +10.0, HZ50, RULE)] "C H M" AGREE "";
    "NG" "Nigeria" [(230.0, -10.0, +14.8, HZ50, SPAN)] "D G" DIFFER "lists say 230 V or 240 V: measure";
    "KE" "Kenya" [(240.0, -10.0, +10.0, HZ50, OURS)] "G" AGREE "";
    "MA" "Morocco" [(220.0, -10.0, +10.0, HZ50, OURS), (127.0, -10.0, +10.0, HZ50, OURS)] "C E" DIFFER
        "one list gives 127 V besides 220 V: measure";
    "IR" "Iran" [(220.0, -10.0, +10.0, HZ50, OURS)] "C F" ONE "";
}
