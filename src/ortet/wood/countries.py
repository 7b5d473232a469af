"""Countries as plant health divides them, by ISO 3166-1 alpha-2."""

__all__ = ["EU", "GREAT_BRITAIN", "country_name", "is_country"]

# Member states of the Union; Northern Ireland keeps its plant-health rules and is written XI on papers. [memory]
EU = frozenset(
    ("AT", "BE", "BG", "CY", "CZ", "DE", "DK", "EE", "ES", "FI", "FR", "GR", "HR", "HU", "IE", "IT", "LT", "LU", "LV", "MT",
     "NL", "PL", "PT", "RO", "SE", "SI", "SK", "XI")
)  # fmt: skip
GREAT_BRITAIN = frozenset(
    {"GB", "IM", "JE", "GG"}
)  # one UK plant passport serves Great Britain and these islands

# Short English names, as the standard has them but for the commonest usage. [memory]
_NAMES = {
    "AL": "Albania", "AT": "Austria", "AU": "Australia", "BA": "Bosnia and Herzegovina", "BE": "Belgium", "BG": "Bulgaria",
    "BR": "Brazil", "CA": "Canada", "CH": "Switzerland", "CL": "Chile", "CN": "China", "CY": "Cyprus", "CZ": "Czechia",
    "DE": "Germany", "DK": "Denmark", "EE": "Estonia", "ES": "Spain", "FI": "Finland", "FR": "France", "GB": "Great Britain",
    "GE": "Georgia", "GG": "Guernsey", "GR": "Greece", "HR": "Croatia", "HU": "Hungary", "IE": "Ireland", "IL": "Israel",
    "IM": "Isle of Man", "IN": "India", "IS": "Iceland", "IT": "Italy", "JE": "Jersey", "JP": "Japan", "KR": "South Korea",
    "LI": "Liechtenstein", "LT": "Lithuania", "LU": "Luxembourg", "LV": "Latvia", "MA": "Morocco", "MD": "Moldova",
    "ME": "Montenegro", "MK": "North Macedonia", "MT": "Malta", "MX": "Mexico", "NL": "Netherlands", "NO": "Norway",
    "NZ": "New Zealand", "PL": "Poland", "PT": "Portugal", "RO": "Romania", "RS": "Serbia", "SE": "Sweden", "SI": "Slovenia",
    "SK": "Slovakia", "TR": "Türkiye", "UA": "Ukraine", "US": "United States", "XI": "Northern Ireland", "ZA": "South Africa",
}  # fmt: skip


def is_country(code: str) -> bool:
    """Whether these are the two letters of a country."""
    return len(code) == 2 and code.isascii() and code.isalpha()


def country_name(code: str) -> str:
    """Return a country's short English name; its letters where no name is known here."""
    return _NAMES.get(code.upper(), code.upper())
