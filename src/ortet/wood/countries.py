"""Countries: their letters by ISO 3166-1, their names, and how plant health divides them."""

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
_TABLE = """
AD AND Andorra; AE ARE United Arab Emirates; AF AFG Afghanistan; AG ATG Antigua and Barbuda; AI AIA Anguilla; AL ALB Albania;
AM ARM Armenia; AO AGO Angola; AQ ATA Antarctica; AR ARG Argentina; AS ASM American Samoa; AT AUT Austria; AU AUS Australia;
AW ABW Aruba; AX ALA Åland Islands; AZ AZE Azerbaijan; BA BIH Bosnia and Herzegovina; BB BRB Barbados; BD BGD Bangladesh;
BE BEL Belgium; BF BFA Burkina Faso; BG BGR Bulgaria; BH BHR Bahrain; BI BDI Burundi; BJ BEN Benin; BL BLM Saint Barthélemy;
BM BMU Bermuda; BN BRN Brunei; BO BOL Bolivia; BQ BES Caribbean Netherlands; BR BRA Brazil; BS BHS Bahamas; BT BTN Bhutan;
BV BVT Bouvet Island; BW BWA Botswana; BY BLR Belarus; BZ BLZ Belize; CA CAN Canada; CC CCK Cocos Islands;
CD COD Democratic Republic of the Congo; CF CAF Central African Republic; CG COG Republic of the Congo; CH CHE Switzerland;
CI CIV Côte d’Ivoire; CK COK Cook Islands; CL CHL Chile; CM CMR Cameroon; CN CHN China; CO COL Colombia; CR CRI Costa Rica;
CU CUB Cuba; CV CPV Cape Verde; CW CUW Curaçao; CX CXR Christmas Island; CY CYP Cyprus; CZ CZE Czechia; DE DEU Germany;
DJ DJI Djibouti; DK DNK Denmark; DM DMA Dominica; DO DOM Dominican Republic; DZ DZA Algeria; EC ECU Ecuador; EE EST Estonia;
EG EGY Egypt; EH ESH Western Sahara; ER ERI Eritrea; ES ESP Spain; ET ETH Ethiopia; FI FIN Finland; FJ FJI Fiji;
FK FLK Falkland Islands; FM FSM Micronesia; FO FRO Faroe Islands; FR FRA France; GA GAB Gabon; GB GBR Great Britain;
GD GRD Grenada; GE GEO Georgia; GF GUF French Guiana; GG GGY Guernsey; GH GHA Ghana; GI GIB Gibraltar; GL GRL Greenland;
GM GMB Gambia; GN GIN Guinea; GP GLP Guadeloupe; GQ GNQ Equatorial Guinea; GR GRC Greece;
GS SGS South Georgia and the South Sandwich Islands; GT GTM Guatemala; GU GUM Guam; GW GNB Guinea-Bissau; GY GUY Guyana;
HK HKG Hong Kong; HM HMD Heard and McDonald Islands; HN HND Honduras; HR HRV Croatia; HT HTI Haiti; HU HUN Hungary;
ID IDN Indonesia; IE IRL Ireland; IL ISR Israel; IM IMN Isle of Man; IN IND India; IO IOT British Indian Ocean Territory;
IQ IRQ Iraq; IR IRN Iran; IS ISL Iceland; IT ITA Italy; JE JEY Jersey; JM JAM Jamaica; JO JOR Jordan; JP JPN Japan;
KE KEN Kenya; KG KGZ Kyrgyzstan; KH KHM Cambodia; KI KIR Kiribati; KM COM Comoros; KN KNA Saint Kitts and Nevis;
KP PRK North Korea; KR KOR South Korea; KW KWT Kuwait; KY CYM Cayman Islands; KZ KAZ Kazakhstan; LA LAO Laos; LB LBN Lebanon;
LC LCA Saint Lucia; LI LIE Liechtenstein; LK LKA Sri Lanka; LR LBR Liberia; LS LSO Lesotho; LT LTU Lithuania;
LU LUX Luxembourg; LV LVA Latvia; LY LBY Libya; MA MAR Morocco; MC MCO Monaco; MD MDA Moldova; ME MNE Montenegro;
MF MAF Saint Martin; MG MDG Madagascar; MH MHL Marshall Islands; MK MKD North Macedonia; ML MLI Mali; MM MMR Myanmar;
MN MNG Mongolia; MO MAC Macau; MP MNP Northern Mariana Islands; MQ MTQ Martinique; MR MRT Mauritania; MS MSR Montserrat;
MT MLT Malta; MU MUS Mauritius; MV MDV Maldives; MW MWI Malawi; MX MEX Mexico; MY MYS Malaysia; MZ MOZ Mozambique;
NA NAM Namibia; NC NCL New Caledonia; NE NER Niger; NF NFK Norfolk Island; NG NGA Nigeria; NI NIC Nicaragua;
NL NLD Netherlands; NO NOR Norway; NP NPL Nepal; NR NRU Nauru; NU NIU Niue; NZ NZL New Zealand; OM OMN Oman; PA PAN Panama;
PE PER Peru; PF PYF French Polynesia; PG PNG Papua New Guinea; PH PHL Philippines; PK PAK Pakistan; PL POL Poland;
PM SPM Saint Pierre and Miquelon; PN PCN Pitcairn; PR PRI Puerto Rico; PS PSE Palestine; PT PRT Portugal; PW PLW Palau;
PY PRY Paraguay; QA QAT Qatar; RE REU Réunion; RO ROU Romania; RS SRB Serbia; RU RUS Russia; RW RWA Rwanda;
SA SAU Saudi Arabia; SB SLB Solomon Islands; SC SYC Seychelles; SD SDN Sudan; SE SWE Sweden; SG SGP Singapore;
SH SHN Saint Helena; SI SVN Slovenia; SJ SJM Svalbard and Jan Mayen; SK SVK Slovakia; SL SLE Sierra Leone; SM SMR San Marino;
SN SEN Senegal; SO SOM Somalia; SR SUR Suriname; SS SSD South Sudan; ST STP São Tomé and Príncipe; SV SLV El Salvador;
SX SXM Sint Maarten; SY SYR Syria; SZ SWZ Eswatini; TC TCA Turks and Caicos Islands; TD TCD Chad;
TF ATF French Southern Territories; TG TGO Togo; TH THA Thailand; TJ TJK Tajikistan; TK TKL Tokelau; TL TLS East Timor;
TM TKM Turkmenistan; TN TUN Tunisia; TO TON Tonga; TR TUR Türkiye; TT TTO Trinidad and Tobago; TV TUV Tuvalu; TW TWN Taiwan;
TZ TZA Tanzania; UA UKR Ukraine; UG UGA Uganda; UM UMI United States Minor Outlying Islands; US USA United States;
UY URY Uruguay; UZ UZB Uzbekistan; VA VAT Vatican City; VC VCT Saint Vincent and the Grenadines; VE VEN Venezuela;
VG VGB British Virgin Islands; VI VIR United States Virgin Islands; VN VNM Vietnam; VU VUT Vanuatu; WF WLF Wallis and Futuna;
WS WSM Samoa; YE YEM Yemen; YT MYT Mayotte; ZA ZAF South Africa; ZM ZMB Zambia; ZW ZWE Zimbabwe
"""
_ROWS = [row.split(" ", 2) for row in _TABLE.replace("\n", " ").strip().split("; ")]
ALPHA_3 = frozenset(three for _, three, _ in _ROWS)
# Written on papers and posted to, though ISO 3166-1 leaves these letters to their users
_NAMES = {two: name for two, _, name in _ROWS} | {"XI": "Northern Ireland", "XK": "Kosovo"}


def is_country(code: str) -> bool:
    """Whether these are the two letters of a country, in capitals or not: GB is, UK is none."""
    return code.isascii() and code.upper() in _NAMES


def country_name(code: str) -> str:
    """Return a country's short English name; what is no country's letters as it is."""
    return _NAMES.get(code.upper(), code)
