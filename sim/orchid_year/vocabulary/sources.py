"""Every source by its citation key: full reference and kind of evidence. docs/sources.md is written from this table."""

from __future__ import annotations

from typing import NamedTuple

from .quantities import Evidence


class Source(NamedTuple):
    """One source: what it is, and how we hold its figures."""

    reference: str
    evidence: Evidence
    note: str = ""


_ABSTRACT = "read as an abstract"
_RECALLED = "recalled; the publication is believed to hold it"

SOURCES: dict[str, Source] = {
    # Sun, air, water
    "FAO56": Source("Allen, Pereira, Raes, Smith 1998, Crop evapotranspiration, FAO Irrigation and Drainage Paper 56.", "measured", "worked examples and tables read"),
    "RICHARDSON1981": Source("Richardson 1981, Stochastic simulation of daily precipitation, temperature, and solar radiation, Water Resources Research 17.", "common practice", _RECALLED),
    "COLLARES1979": Source("Collares-Pereira, Rabl 1979, The average distribution of solar radiation, Solar Energy 22.", "from memory", "coefficients recalled"),
    "ERBS1982": Source("Erbs, Klein, Duffie 1982, Estimation of the diffuse radiation fraction, Solar Energy 28(4):293-302.", "measured", "as the pvlib library carries it"),
    "DEWIT1978": Source("de Wit et al. 1978, Simulation of assimilation, respiration and transpiration of crops, Pudoc.", "from memory"),
    "WILCOX2008": Source("Wilcox, Marion 2008, Users Manual for TMY3 Data Sets, NREL/TP-581-43156.", "measured", "file format and time stamps"),
    "CRAWLEY1999": Source("Crawley, Hand, Lawrie 1999, Improving the weather information available to simulation programs, Building Simulation '99.", "from memory", "the EPW format"),
    "SALMON2011": Source("Salmon, Moraes, Dror, Shaw 2011, Parallel random numbers: as easy as 1, 2, 3, SC11.", "from memory", "the Philox generator that numpy carries"),
    "USNO": Source("US Naval Observatory, definition of sunrise: upper limb with 34' of refraction.", "from memory"),
    "SZEICZ1974": Source("Szeicz 1974, Solar radiation for plant growth, Journal of Applied Ecology 11.", "measured", _ABSTRACT),
    "THIMIJAN1983": Source("Thimijan, Heins 1983, Photometric, radiometric, and quantum light units of measure, HortScience 18:818.", "measured", "factors as quoted by others"),
    "MOON1942": Source("Moon, Spencer 1942, Illumination from a non-uniform sky, Illuminating Engineering 37; the CIE standard overcast sky.", "from memory"),
    "DUFFIE2013": Source("Duffie, Beckman 2013, Solar Engineering of Thermal Processes, chapter 5.", "from memory", "Fresnel and Snell relations"),
    "MANAKER1981": Source("Manaker 1981, Interior plantscapes: installation, maintenance, and management; light passed by glass.", "measured", "as quoted by others; title recalled"),
    # Homes
    "PASSIVHAUS": Source("Passivhaus Institut, inside temperature of three kinds of pane on one cold day.", "measured", "as quoted by a glazier's page, which does not print how cold the day was"),
    "ISO6946": Source("ISO 6946, Building components, thermal resistance: surface resistances 0.13 and 0.04 m² K/W.", "measured", "as quoted by a manufacturer's page"),
    "ISO13788": Source("ISO 13788, Hygrothermal performance of building components: temperature factor and humidity classes.", "from memory"),
    "EN12831": Source("EN 12831-1, Energy performance of buildings: 20 °C for living rooms.", "from memory"),
    "KANE2015": Source("Kane, Firth, Lomas 2015, How are UK homes heated?, Energy and Buildings.", "common practice", _ABSTRACT),
    "KENT1966": Source("Kent, Handegord, Robson 1966, A study of humidity variations in Canadian houses, ASHRAE Transactions 72.", "measured", _ABSTRACT),
    "GUSSMAN1993": Source("Gussman, Goffreda, Gianfagna 1993, Ethylene production and fruit-softening rates in several apple cultivars, HortScience 28:135-137.", "measured", _ABSTRACT),
    # Pot
    "VERHAGEN2013": Source("Verhagen 2013, Oxygen diffusion in relation to physical characteristics of growing media, Acta Horticulturae 1013:313-318.", "measured", _ABSTRACT),
    "OWEN2008": Source("Owen, Altland 2008, Container height and Douglas fir bark texture affect substrate physical properties, HortScience 43:505-508.", "measured", _ABSTRACT),
    "JACKSON2015": Source("Jackson, Fonteno, Wunch 2015, Comparison of pine bark from multiple suppliers, ASHS conference.", "measured", _ABSTRACT),
    "KROMWIJK2012": Source("Kromwijk, Baas, Kempkes, van Noort 2012, Energy-efficient watering of Phalaenopsis, Wageningen report.", "common practice", _ABSTRACT),
    "ZOTZ2013": Source("Zotz, Winkler 2013, Aerial roots of epiphytic orchids: the velamen radicum, Oecologia 171:733-741.", "measured", _ABSTRACT),
    "SOUTH2017": Source("South et al. 2017, weekly ice cubes or as much water for Phalaenopsis on display, HortScience 52(9); and ASHS conference 2017.", "measured", _ABSTRACT),
    "WANG1994": Source("Wang, Gregg 1994, Medium and fertilizer affect the performance of Phalaenopsis orchids, HortScience 29:269-271.", "measured", _ABSTRACT),
    "WANG1998": Source("Wang 1998, Impact of salinity and media on growth and flowering of a hybrid Phalaenopsis orchid, HortScience 33.", "measured", _ABSTRACT),
    "WANG2000": Source("Wang 2000, Impact of a high phosphorus fertilizer and timing of termination of fertilization, HortScience 35:60-62.", "measured", _ABSTRACT),
    "LIN2017": Source("Lin, Chang 2017, Leaf nitrogen of Phalaenopsis, HortScience 52:1530; and ASHS conference 2017 on nitrogen before forcing.", "measured", _ABSTRACT),
    "SUSILO2013": Source("Susilo, Peng, Lee, Chen, Chang 2013, Nitrogen uptake and partitioning in Phalaenopsis, J. Amer. Soc. Hort. Sci. 138:229.", "measured", _ABSTRACT),
    "ACTA450": Source("Acta Horticulturae 450 (1997), nitrogen for Phalaenopsis pot plants; authors not seen.", "measured", _ABSTRACT),
    "WUR2023": Source("Wageningen University & Research 2023, report on sodium in the feed of Phalaenopsis.", "measured", _ABSTRACT),
    # Growth and flowering
    "BLANCHARD2006": Source("Blanchard, Runkle 2006, Temperature during the day, but not during the night, controls flowering of Phalaenopsis orchids, J. Exp. Bot. 57:4043-4049.", "measured", _ABSTRACT),
    "NEWTON2009": Source("Newton, Runkle 2009, High-temperature inhibition of flowering of Phalaenopsis and Doritaenopsis orchids, HortScience 44.", "measured", _ABSTRACT),
    "SAKANISHI1980": Source("Sakanishi, Imanishi, Ishida 1980, Effect of temperature on growth and flowering of Phalaenopsis amabilis, Bull. Univ. Osaka Pref. B 32:1-9.", "measured", _ABSTRACT),
    "WANG1995": Source("Wang 1995, Phalaenopsis orchid light requirement during the induction of spiking, HortScience 30:59-61.", "measured", _ABSTRACT),
    "ROBINSON2002": Source("Robinson 2002, MSc thesis, Michigan State University, on temperature and the flowering of Phalaenopsis.", "measured", "abstract; its two statements disagree, see docs/model.md"),
    "LOPEZ2004": Source("Lopez, Runkle 2004, The effect of temperature on leaf and flower development and flower longevity of Zygopetalum, HortScience 39:1630-1634.", "from memory", "another genus"),
    "LOPEZ2007": Source("Lopez, Runkle, Wang, Blanchard, Hsu 2007, Growing the best Phalaenopsis, part 3, Orchids.", "measured", "read as a summary"),
    "WANG2007": Source("Wang 2007, Average daily temperature and reversed day/night temperature regulate vegetative and reproductive responses of a Doritis hybrid Phalaenopsis, HortScience 42.", "measured", _ABSTRACT),
    "WANG2007C": Source("Wang 2007, Temperature, duration in simulated shipping, and thermal acclimatization on the development of chilling injury and subsequent flowering of Phalaenopsis, HortScience 42.", "measured", _ABSTRACT),
    "KONOW2001": Source("Konow, Wang 2001, Irradiance levels affect in vitro and greenhouse growth, flowering, and photosynthetic behavior of a hybrid Phalaenopsis orchid, J. Amer. Soc. Hort. Sci. 126.", "measured", _ABSTRACT),
    "CHEN2019": Source("Chen 2019, Evaluation of the effect of temperature on a stem elongation model of Phalaenopsis, Horticulturae 5:76.", "measured", "direction only"),
    "CHENNCHU": Source("Chen, National Chung Hsing University, course notes on flower quality of Phalaenopsis and environment.", "measured", "direction only"),
    "VO2021": Source("Vo et al. 2021, Temperature and plantlets of Phalaenopsis, Flower Research Journal 29:55-63.", "measured", _ABSTRACT),
    "LOOTENS1998": Source("Lootens, Heursel 1998, Irradiance, temperature, and carbon dioxide enrichment affect photosynthesis in Phalaenopsis hybrids, HortScience 33:1183.", "measured", _ABSTRACT),
    "GUO2006": Source("Guo, Lee 2006, Effect of leaf aging and light quality on net CO2 uptake in Phalaenopsis.", "from memory"),
    "GUO2012": Source("Guo, Lin, Lee 2012, Photon flux and CAM photosynthesis of Phalaenopsis, J. Amer. Soc. Hort. Sci. 137:465.", "measured", _ABSTRACT),
    "POLLET2011": Source("Pollet, Steppe, Dambre, Van Labeke, Lemeur 2011, Temperature integration of Hedera and Phalaenopsis: CAM and night temperature, Ann. Appl. Biol. 158:331-345.", "measured", _ABSTRACT),
    # Injury
    "LIU2007": Source("Liu, Wang, Piao 2007, Chilling of six Phalaenopsis cultivars, Acta Horticulturae Sinica 34:425-430.", "measured", _ABSTRACT),
    "CATING2009": Source("Cating, Palmateer 2009, Mesophyll cell collapse of orchids, UF-IFAS EDIS PP265.", "measured", _ABSTRACT),
    "LARCHER": Source("Larcher, Physiological Plant Ecology, heat limits of tropical shade leaves.", "from memory"),
    "RHIE2017": Source("Rhie, Kang, Kim 2017, Substrate moisture and flowering Phalaenopsis, HortScience 52:1823.", "measured", _ABSTRACT),
    "LEATHERWOOD": Source("Leatherwood, Mattson, Ethylene in the greenhouse, Cornell University.", "measured", "alarm levels for any crop"),
    "TAIWAN377043": Source("Taiwanese study of Phalaenopsis flower respiration and ethylene, record 377043; authors not seen.", "measured", _ABSTRACT),
    "HOUDARK": Source("Hou, Miller, Chang, Dark shipping of Phalaenopsis, J. Amer. Soc. Hort. Sci.", "measured", _ABSTRACT),
    "PEROMBELON1980": Source("Perombelon, Kelman 1980, Ecology of the soft rot erwinias, Annual Review of Phytopathology 18:361.", "from memory"),
    "INRAE": Source("INRAE e-phytia, Pectobacterium carotovorum: growth from 5 to 37 °C, best at 25 to 30.", "measured", "read on the page"),
    "PNW2024": Source("Pacific Northwest Plant Disease Management Handbook 2024, orchid bacterial brown spot.", "measured", "read on the page"),
}  # fmt: skip


def as_markdown() -> str:
    """docs/sources.md: every source with the grade of evidence at which we hold it."""
    rows = [
        f"| {key} | {source.reference} | {source.evidence} | {source.note} |" for key, source in sorted(SOURCES.items())
    ]
    head = [
        "# Sources",
        "",
        "Written from `sim/orchid_year/vocabulary/sources.py` by `python docs/build.py`; change it there.",
        "A title is given in our own words where the original was not seen.",
        "",
        "How we hold a figure: *measured* (a publication's own, as far as it was read), *common practice* (a rule of the trade), "
        "*from memory* (recalled, not read again), *judged for teaching* (our own choice).",
        "",
        "| Key | Reference | Evidence | Note |",
        "|---|---|---|---|",
    ]
    return "\n".join([*head, *rows, ""])
