"""Countries: their letters by ISO 3166-1, their names, and how plant health divides them."""

from .speech import say, to_say

__all__ = ["ALPHA_3", "EU", "GREAT_BRITAIN", "country_name", "is_country"]

# Member states of the Union; Northern Ireland keeps its plant-health rules and is written XI on papers. [memory]
EU = frozenset(
    ("AT", "BE", "BG", "CY", "CZ", "DE", "DK", "EE", "ES", "FI", "FR", "GR", "HR", "HU", "IE", "IT", "LT", "LU", "LV", "MT",
     "NL", "PL", "PT", "RO", "SE", "SI", "SK", "XI")
)  # fmt: skip
GREAT_BRITAIN = frozenset(
    {"GB", "IM", "JE", "GG"}
)  # one UK plant passport serves Great Britain and these islands

# Two letters, three letters, and the short English name: the 249 codes assigned in 2026. The letters are ISO 3166-1's
# [published], as the tz database's iso3166.tab has them; names are in common usage and spelled out. [our choice]
_TABLE = {
    "AD AND": to_say("Andorra"), "AE ARE": to_say("United Arab Emirates"), "AF AFG": to_say("Afghanistan"),
    "AG ATG": to_say("Antigua and Barbuda"), "AI AIA": to_say("Anguilla"), "AL ALB": to_say("Albania"),
    "AM ARM": to_say("Armenia"), "AO AGO": to_say("Angola"), "AQ ATA": to_say("Antarctica"), "AR ARG": to_say("Argentina"),
    "AS ASM": to_say("American Samoa"), "AT AUT": to_say("Austria"), "AU AUS": to_say("Australia"), "AW ABW": to_say("Aruba"),
    "AX ALA": to_say("Åland Islands"), "AZ AZE": to_say("Azerbaijan"), "BA BIH": to_say("Bosnia and Herzegovina"),
    "BB BRB": to_say("Barbados"), "BD BGD": to_say("Bangladesh"), "BE BEL": to_say("Belgium"),
    "BF BFA": to_say("Burkina Faso"), "BG BGR": to_say("Bulgaria"), "BH BHR": to_say("Bahrain"), "BI BDI": to_say("Burundi"),
    "BJ BEN": to_say("Benin"), "BL BLM": to_say("Saint Barthélemy"), "BM BMU": to_say("Bermuda"), "BN BRN": to_say("Brunei"),
    "BO BOL": to_say("Bolivia"), "BQ BES": to_say("Caribbean Netherlands"), "BR BRA": to_say("Brazil"),
    "BS BHS": to_say("Bahamas"), "BT BTN": to_say("Bhutan"), "BV BVT": to_say("Bouvet Island"), "BW BWA": to_say("Botswana"),
    "BY BLR": to_say("Belarus"), "BZ BLZ": to_say("Belize"), "CA CAN": to_say("Canada"), "CC CCK": to_say("Cocos Islands"),
    "CD COD": to_say("Democratic Republic of the Congo"), "CF CAF": to_say("Central African Republic"),
    "CG COG": to_say("Republic of the Congo"), "CH CHE": to_say("Switzerland"), "CI CIV": to_say("Côte d’Ivoire"),
    "CK COK": to_say("Cook Islands"), "CL CHL": to_say("Chile"), "CM CMR": to_say("Cameroon"), "CN CHN": to_say("China"),
    "CO COL": to_say("Colombia"), "CR CRI": to_say("Costa Rica"), "CU CUB": to_say("Cuba"), "CV CPV": to_say("Cape Verde"),
    "CW CUW": to_say("Curaçao"), "CX CXR": to_say("Christmas Island"), "CY CYP": to_say("Cyprus"), "CZ CZE": to_say("Czechia"),
    "DE DEU": to_say("Germany"), "DJ DJI": to_say("Djibouti"), "DK DNK": to_say("Denmark"), "DM DMA": to_say("Dominica"),
    "DO DOM": to_say("Dominican Republic"), "DZ DZA": to_say("Algeria"), "EC ECU": to_say("Ecuador"),
    "EE EST": to_say("Estonia"), "EG EGY": to_say("Egypt"), "EH ESH": to_say("Western Sahara"), "ER ERI": to_say("Eritrea"),
    "ES ESP": to_say("Spain"), "ET ETH": to_say("Ethiopia"), "FI FIN": to_say("Finland"), "FJ FJI": to_say("Fiji"),
    "FK FLK": to_say("Falkland Islands"), "FM FSM": to_say("Micronesia"), "FO FRO": to_say("Faroe Islands"),
    "FR FRA": to_say("France"), "GA GAB": to_say("Gabon"), "GB GBR": to_say("Great Britain"), "GD GRD": to_say("Grenada"),
    "GE GEO": to_say("Georgia"), "GF GUF": to_say("French Guiana"), "GG GGY": to_say("Guernsey"), "GH GHA": to_say("Ghana"),
    "GI GIB": to_say("Gibraltar"), "GL GRL": to_say("Greenland"), "GM GMB": to_say("Gambia"), "GN GIN": to_say("Guinea"),
    "GP GLP": to_say("Guadeloupe"), "GQ GNQ": to_say("Equatorial Guinea"), "GR GRC": to_say("Greece"),
    "GS SGS": to_say("South Georgia and the South Sandwich Islands"), "GT GTM": to_say("Guatemala"), "GU GUM": to_say("Guam"),
    "GW GNB": to_say("Guinea-Bissau"), "GY GUY": to_say("Guyana"), "HK HKG": to_say("Hong Kong"),
    "HM HMD": to_say("Heard and McDonald Islands"), "HN HND": to_say("Honduras"), "HR HRV": to_say("Croatia"),
    "HT HTI": to_say("Haiti"), "HU HUN": to_say("Hungary"), "ID IDN": to_say("Indonesia"), "IE IRL": to_say("Ireland"),
    "IL ISR": to_say("Israel"), "IM IMN": to_say("Isle of Man"), "IN IND": to_say("India"),
    "IO IOT": to_say("British Indian Ocean Territory"), "IQ IRQ": to_say("Iraq"), "IR IRN": to_say("Iran"),
    "IS ISL": to_say("Iceland"), "IT ITA": to_say("Italy"), "JE JEY": to_say("Jersey"), "JM JAM": to_say("Jamaica"),
    "JO JOR": to_say("Jordan"), "JP JPN": to_say("Japan"), "KE KEN": to_say("Kenya"), "KG KGZ": to_say("Kyrgyzstan"),
    "KH KHM": to_say("Cambodia"), "KI KIR": to_say("Kiribati"), "KM COM": to_say("Comoros"),
    "KN KNA": to_say("Saint Kitts and Nevis"), "KP PRK": to_say("North Korea"), "KR KOR": to_say("South Korea"),
    "KW KWT": to_say("Kuwait"), "KY CYM": to_say("Cayman Islands"), "KZ KAZ": to_say("Kazakhstan"), "LA LAO": to_say("Laos"),
    "LB LBN": to_say("Lebanon"), "LC LCA": to_say("Saint Lucia"), "LI LIE": to_say("Liechtenstein"),
    "LK LKA": to_say("Sri Lanka"), "LR LBR": to_say("Liberia"), "LS LSO": to_say("Lesotho"), "LT LTU": to_say("Lithuania"),
    "LU LUX": to_say("Luxembourg"), "LV LVA": to_say("Latvia"), "LY LBY": to_say("Libya"), "MA MAR": to_say("Morocco"),
    "MC MCO": to_say("Monaco"), "MD MDA": to_say("Moldova"), "ME MNE": to_say("Montenegro"), "MF MAF": to_say("Saint Martin"),
    "MG MDG": to_say("Madagascar"), "MH MHL": to_say("Marshall Islands"), "MK MKD": to_say("North Macedonia"),
    "ML MLI": to_say("Mali"), "MM MMR": to_say("Myanmar"), "MN MNG": to_say("Mongolia"), "MO MAC": to_say("Macau"),
    "MP MNP": to_say("Northern Mariana Islands"), "MQ MTQ": to_say("Martinique"), "MR MRT": to_say("Mauritania"),
    "MS MSR": to_say("Montserrat"), "MT MLT": to_say("Malta"), "MU MUS": to_say("Mauritius"), "MV MDV": to_say("Maldives"),
    "MW MWI": to_say("Malawi"), "MX MEX": to_say("Mexico"), "MY MYS": to_say("Malaysia"), "MZ MOZ": to_say("Mozambique"),
    "NA NAM": to_say("Namibia"), "NC NCL": to_say("New Caledonia"), "NE NER": to_say("Niger"),
    "NF NFK": to_say("Norfolk Island"), "NG NGA": to_say("Nigeria"), "NI NIC": to_say("Nicaragua"),
    "NL NLD": to_say("Netherlands"), "NO NOR": to_say("Norway"), "NP NPL": to_say("Nepal"), "NR NRU": to_say("Nauru"),
    "NU NIU": to_say("Niue"), "NZ NZL": to_say("New Zealand"), "OM OMN": to_say("Oman"), "PA PAN": to_say("Panama"),
    "PE PER": to_say("Peru"), "PF PYF": to_say("French Polynesia"), "PG PNG": to_say("Papua New Guinea"),
    "PH PHL": to_say("Philippines"), "PK PAK": to_say("Pakistan"), "PL POL": to_say("Poland"),
    "PM SPM": to_say("Saint Pierre and Miquelon"), "PN PCN": to_say("Pitcairn"), "PR PRI": to_say("Puerto Rico"),
    "PS PSE": to_say("Palestine"), "PT PRT": to_say("Portugal"), "PW PLW": to_say("Palau"), "PY PRY": to_say("Paraguay"),
    "QA QAT": to_say("Qatar"), "RE REU": to_say("Réunion"), "RO ROU": to_say("Romania"), "RS SRB": to_say("Serbia"),
    "RU RUS": to_say("Russia"), "RW RWA": to_say("Rwanda"), "SA SAU": to_say("Saudi Arabia"),
    "SB SLB": to_say("Solomon Islands"), "SC SYC": to_say("Seychelles"), "SD SDN": to_say("Sudan"), "SE SWE": to_say("Sweden"),
    "SG SGP": to_say("Singapore"), "SH SHN": to_say("Saint Helena"), "SI SVN": to_say("Slovenia"),
    "SJ SJM": to_say("Svalbard and Jan Mayen"), "SK SVK": to_say("Slovakia"), "SL SLE": to_say("Sierra Leone"),
    "SM SMR": to_say("San Marino"), "SN SEN": to_say("Senegal"), "SO SOM": to_say("Somalia"), "SR SUR": to_say("Suriname"),
    "SS SSD": to_say("South Sudan"), "ST STP": to_say("São Tomé and Príncipe"), "SV SLV": to_say("El Salvador"),
    "SX SXM": to_say("Sint Maarten"), "SY SYR": to_say("Syria"), "SZ SWZ": to_say("Eswatini"),
    "TC TCA": to_say("Turks and Caicos Islands"), "TD TCD": to_say("Chad"), "TF ATF": to_say("French Southern Territories"),
    "TG TGO": to_say("Togo"), "TH THA": to_say("Thailand"), "TJ TJK": to_say("Tajikistan"), "TK TKL": to_say("Tokelau"),
    "TL TLS": to_say("East Timor"), "TM TKM": to_say("Turkmenistan"), "TN TUN": to_say("Tunisia"), "TO TON": to_say("Tonga"),
    "TR TUR": to_say("Türkiye"), "TT TTO": to_say("Trinidad and Tobago"), "TV TUV": to_say("Tuvalu"),
    "TW TWN": to_say("Taiwan"), "TZ TZA": to_say("Tanzania"), "UA UKR": to_say("Ukraine"), "UG UGA": to_say("Uganda"),
    "UM UMI": to_say("United States Minor Outlying Islands"), "US USA": to_say("United States"), "UY URY": to_say("Uruguay"),
    "UZ UZB": to_say("Uzbekistan"), "VA VAT": to_say("Vatican City"), "VC VCT": to_say("Saint Vincent and the Grenadines"),
    "VE VEN": to_say("Venezuela"), "VG VGB": to_say("British Virgin Islands"),
    "VI VIR": to_say("United States Virgin Islands"), "VN VNM": to_say("Vietnam"), "VU VUT": to_say("Vanuatu"),
    "WF WLF": to_say("Wallis and Futuna"), "WS WSM": to_say("Samoa"), "YE YEM": to_say("Yemen"), "YT MYT": to_say("Mayotte"),
    "ZA ZAF": to_say("South Africa"), "ZM ZMB": to_say("Zambia"), "ZW ZWE": to_say("Zimbabwe"),
}  # fmt: skip
ALPHA_3 = frozenset(letters[3:] for letters in _TABLE)
# Written on papers and posted to, though ISO 3166-1 leaves these letters to their users
_NAMES = {letters[:2]: name for letters, name in _TABLE.items()} | {
    "XI": to_say("Northern Ireland"),
    "XK": to_say("Kosovo"),
}


def is_country(code: str) -> bool:
    """Whether these are the two letters of a country, in capitals or not: GB is, UK is none."""
    return code.isascii() and code.upper() in _NAMES


def country_name(code: str) -> str:
    """Return a country's short name; what is no country's letters as it is."""
    name = _NAMES.get(code.upper())
    return say(name) if name else code
