/* The solvents and propellants of a finishing shop. Each figure carries a mark and where it was read:
 *
 *     PUB  read in the text named beside it, or in an open transcription of it (the tables of NFPA 497-2008 and IEC 60079-20-1:2010,
 *          the CRC, VDI and Perry handbooks and Poling's Antoine equations, evaluated at 293.15 K)
 *     DER  arithmetic on published figures              MEM  from memory, not checked
 *     NO   no source gives it: it stays unknown
 *
 * Of several sources the one stands here that errs to the safe side, and the others are named. A range is reduced to its
 * lower end. NIOSH is the Pocket Guide to Chemical Hazards and the IDLH documents; G-11 is a table of 29 CFR 1910.94(c). */
#include "coat/solvent.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "coat/quantity.h"

#define PUB(value, text) {(value), BASIS_PUBLISHED, text}
#define DER(value, text) {(value), BASIS_DERIVED, text}
#define MEM(value, text) {(value), BASIS_MEMORY, text}
#define NO(text) {(double)NAN, BASIS_PUBLISHED, text}

#define FORMULA(value) {(value), BASIS_DERIVED, "molar mass of the formula"}
#define NFPA "NFPA 497-2008"
#define IEC "IEC 60079-20-1:2010"
#define NIOSH "NIOSH Pocket Guide"
#define IDLH "NIOSH IDLH documents"
#define CRC "CRC handbook"
#define VDI "VDI saturated-liquid equation at 20 C"
#define PERRY "Perry 8th ed. Table 2-8 at 20 C"
#define POLING "Antoine equation (Poling) at 20 C"
#define Z1 "29 CFR 1910.1000 Table Z-1"
#define Z2 "29 CFR 1910.1000 Table Z-2, 8 h average (ceiling 300, peak 500 for 10 min)"
#define G11(ft3, lel) .g11_ft3_gal = PUB(ft3, "29 CFR 1910.94(c) Table G-11"), .g11_lel_pct = PUB(lel, "29 CFR 1910.94(c) Table G-11")
#define NOT_G11 .g11_ft3_gal = NO("not in Table G-11"), .g11_lel_pct = NO("not in Table G-11")
#define NO_CARD .explosive_from_c = NO("no safety card was read for it")
#define CARD(value) .explosive_from_c = PUB(value, "International Chemical Safety Card")
#define NO_Z1 NO("no limit in 29 CFR 1910.1000 Table Z-1")
#define NO_REL NO("no NIOSH limit was found")
#define NO_STEL NO("NIOSH gives no short-term limit")

/* 350 mg/m3 average, 1800 mg/m3 in 15 min: ppm by the molar mass, the largest where it is a range. */
#define REFINED_REL(molar) DER(350.0 * MOLAR_VOLUME_25C_L_MOL / (molar), "NIOSH 350 mg/m3, at 24.45 l/mol and " #molar " g/mol")
#define REFINED_STEL(molar) DER(1800.0 * MOLAR_VOLUME_25C_L_MOL / (molar), "NIOSH 15-min ceiling 1800 mg/m3, at 24.45 l/mol and " #molar " g/mol")

enum row {
    TOLUENE, XYLENE, ACETONE, MEK, BUTYL_ACETATE, ETHYL_ACETATE, ISOPROPANOL, ETHANOL, METHANOL, BUTANOL, METHYL_ACETATE,
    TERT_BUTYL_ACETATE, BUTOXYETHANOL, PM_ACETATE, TURPENTINE, MINERAL_SPIRITS, VMP_NAPHTHA, PROPANE, BUTANE, ISOBUTANE,
    DIMETHYL_ETHER, PCBTF, ROWS
};

static const struct solvent solvents[ROWS] = {
    [TOLUENE] = {
        .name = "toluene", .alias = {"toluol", "methylbenzene", "methyl benzene"}, .cas = "108-88-3",
        .molar_g_mol = FORMULA(92.14), .density_kg_m3 = PUB(867.3, VDI " (Perry Table 2-32: 868.5)"),
        .flash_c = PUB(4.0, NFPA), NO_CARD, .lel_pct = PUB(1.0, IEC " (" NFPA ": 1.1; Table G-11: 1.4)"), .uel_pct = PUB(7.1, NFPA),
        .autoignition_c = PUB(480.0, NFPA " (IEC: 530)"), .boiling_c = PUB(110.6, CRC), .vapour_kpa = PUB(2.91, POLING " (Perry: 2.93)"),
        .pel_ppm = PUB(200.0, Z2), .rel_ppm = PUB(100.0, NIOSH), .stel_ppm = PUB(150.0, NIOSH), .idlh_ppm = PUB(500.0, NIOSH),
        G11(30.4, 1.4),
    },
    [XYLENE] = {
        .name = "xylene", .alias = {"xylol", "xylenes", "dimethylbenzene", "mixed xylenes", "o-xylene", "m-xylene", "p-xylene", "95-47-6",
                                    "108-38-3", "106-42-3"}, .cas = "1330-20-7",
        .molar_g_mol = FORMULA(106.17), .density_kg_m3 = PUB(864.0, "National Academies 2009, table 12-1: specific gravity 0.864 at 20/4 C"),
        .flash_c = PUB(25.0, NFPA " (National Academies 2009: 29)"), NO_CARD, .lel_pct = PUB(0.9, NFPA " (Table G-11, o-xylene: 1.0)"),
        .uel_pct = PUB(7.0, NFPA), .autoignition_c = PUB(464.0, NFPA),
        .boiling_c = PUB(137.0, "National Academies 2009, table 12-1: 137 to 140 C"), .vapour_kpa = PUB(0.83, PERRY ", m-xylene"),
        .pel_ppm = PUB(100.0, Z1), .rel_ppm = PUB(100.0, "OSHA chemical sampling page"), .stel_ppm = PUB(150.0, "OSHA chemical sampling page"),
        .idlh_ppm = PUB(900.0, IDLH), G11(26.4, 1.0),
    },
    [ACETONE] = {
        .name = "acetone", .alias = {"propanone", "2-propanone", "dimethyl ketone"}, .cas = "67-64-1",
        .molar_g_mol = FORMULA(58.08), .density_kg_m3 = PUB(791.0, "NTP chemical repository: specific gravity 0.791 at 20/4 C"),
        .flash_c = PUB(-20.0, NFPA " (NTP: -18)"), NO_CARD, .lel_pct = PUB(2.5, NFPA " (NTP and Table G-11: 2.6)"), .uel_pct = PUB(12.8, NFPA),
        .autoignition_c = PUB(465.0, NFPA), .boiling_c = PUB(56.1, CRC), .vapour_kpa = PUB(24.7, POLING " (NTP: 24.0)"),
        .pel_ppm = PUB(1000.0, Z1), .rel_ppm = PUB(250.0, "OSHA chemical sampling page CH_216600"), .stel_ppm = NO_STEL,
        .idlh_ppm = PUB(2500.0, "OSHA chemical sampling page CH_216600"), G11(44.0, 2.6),
    },
    [MEK] = {
        .name = "MEK", .alias = {"methyl ethyl ketone", "butanone", "2-butanone", "ethyl methyl ketone"}, .cas = "78-93-3",
        .molar_g_mol = FORMULA(72.11), .density_kg_m3 = PUB(805.0, "ATSDR, and " VDI),
        .flash_c = PUB(-9.0, "National Academies chemical summary (" NFPA ": -6)"), NO_CARD,
        .lel_pct = PUB(1.4, NFPA ", at 200 F (National Academies: 1.9; Table G-11: 1.8)"), .uel_pct = PUB(11.4, NFPA),
        .autoignition_c = PUB(404.0, NFPA " (National Academies: 516)"), .boiling_c = PUB(79.6, CRC),
        .vapour_kpa = PUB(9.43, POLING " (National Academies: 9.49)"),
        .pel_ppm = PUB(200.0, Z1), .rel_ppm = PUB(200.0, IDLH), .stel_ppm = PUB(300.0, IDLH), .idlh_ppm = PUB(3000.0, IDLH),
        G11(36.0, 1.8),
    },
    [BUTYL_ACETATE] = {
        .name = "n-butyl acetate", .alias = {"butyl acetate", "butyl ethanoate", "BuAc"}, .cas = "123-86-4",
        .molar_g_mol = FORMULA(116.16), .density_kg_m3 = PUB(882.5, CRC), .flash_c = PUB(22.0, NFPA), CARD(22.0),
        .lel_pct = PUB(1.2, IEC " (" NFPA " and Table G-11: 1.7)"), .uel_pct = PUB(7.6, NFPA), .autoignition_c = PUB(390.0, IEC " (" NFPA ": 421)"),
        .boiling_c = PUB(126.0, CRC), .vapour_kpa = PUB(1.1, PERRY),
        .pel_ppm = PUB(150.0, Z1), .rel_ppm = PUB(150.0, IDLH), .stel_ppm = PUB(200.0, IDLH), .idlh_ppm = PUB(1700.0, IDLH),
        G11(24.8, 1.7),
    },
    [ETHYL_ACETATE] = {
        .name = "ethyl acetate", .alias = {"ethyl ethanoate", "EtAc"}, .cas = "141-78-6",
        .molar_g_mol = FORMULA(88.11), .density_kg_m3 = PUB(900.3, CRC), .flash_c = PUB(-4.0, NFPA), NO_CARD,
        .lel_pct = PUB(2.0, NFPA " (Table G-11: 2.5)"), .uel_pct = PUB(11.5, NFPA), .autoignition_c = PUB(427.0, NFPA),
        .boiling_c = PUB(77.1, CRC), .vapour_kpa = PUB(9.83, POLING),
        .pel_ppm = PUB(400.0, Z1), .rel_ppm = PUB(400.0, IDLH), .stel_ppm = NO_STEL, .idlh_ppm = PUB(2000.0, IDLH), G11(32.8, 2.5),
    },
    [ISOPROPANOL] = {
        .name = "isopropanol", .alias = {"isopropyl alcohol", "IPA", "2-propanol", "propan-2-ol"}, .cas = "67-63-0",
        .molar_g_mol = FORMULA(60.10), .density_kg_m3 = PUB(786.4, VDI), .flash_c = PUB(12.0, NFPA), NO_CARD,
        .lel_pct = PUB(2.0, NFPA), .uel_pct = PUB(12.7, NFPA), .autoignition_c = PUB(399.0, NFPA), .boiling_c = PUB(82.2, CRC),
        .vapour_kpa = PUB(4.41, POLING " (" NIOSH ": 4.40)"),
        .pel_ppm = PUB(400.0, Z1), .rel_ppm = PUB(400.0, NIOSH), .stel_ppm = PUB(500.0, NIOSH), .idlh_ppm = PUB(2000.0, NIOSH),
        G11(44.0, 2.0),
    },
    [ETHANOL] = {
        .name = "ethanol", .alias = {"ethyl alcohol", "grain alcohol"}, .cas = "64-17-5",
        .molar_g_mol = FORMULA(46.07), .density_kg_m3 = PUB(789.3, CRC), .flash_c = PUB(13.0, NFPA), NO_CARD,
        .lel_pct = PUB(3.3, NFPA " (Table G-11: 4.3)"), .uel_pct = PUB(19.0, NFPA), .autoignition_c = PUB(363.0, NFPA),
        .boiling_c = PUB(78.2, CRC), .vapour_kpa = PUB(5.86, POLING " (" NIOSH ": 5.87)"),
        .pel_ppm = PUB(1000.0, Z1), .rel_ppm = PUB(1000.0, NIOSH), .stel_ppm = NO_STEL, .idlh_ppm = PUB(3300.0, IDLH), G11(55.2, 4.3),
    },
    [METHANOL] = {
        .name = "methanol", .alias = {"methyl alcohol", "wood alcohol", "methyl hydrate"}, .cas = "67-56-1",
        .molar_g_mol = FORMULA(32.04), .density_kg_m3 = MEM(791.4, "from memory: handbook value"),
        .flash_c = PUB(11.0, "National Academies chemical summary"), NO_CARD, .lel_pct = PUB(6.0, IDLH " (Table G-11: 7.3)"),
        .uel_pct = MEM(36.0, "from memory"), .autoignition_c = PUB(385.0, "National Academies chemical summary"),
        .boiling_c = PUB(65.0, "National Academies chemical summary"), .vapour_kpa = PUB(12.8, "National Academies chemical summary: 96 mmHg"),
        .pel_ppm = PUB(200.0, IDLH ", quoting 29 CFR 1910.1000"), .rel_ppm = PUB(200.0, IDLH ", skin"), .stel_ppm = PUB(250.0, IDLH ", skin"),
        .idlh_ppm = MEM(6000.0, "from memory: a tenth of the LEL"), G11(80.8, 7.3),
    },
    [BUTANOL] = {
        .name = "n-butanol", .alias = {"butanol", "n-butyl alcohol", "butyl alcohol", "1-butanol"}, .cas = "71-36-3",
        .molar_g_mol = FORMULA(74.12), .density_kg_m3 = PUB(809.5, CRC), .flash_c = PUB(29.0, NIOSH ": 84 F (IEC: 35 C)"), NO_CARD,
        .lel_pct = PUB(1.4, NFPA), .uel_pct = PUB(11.2, NFPA), .autoignition_c = PUB(343.0, NFPA), .boiling_c = PUB(117.6, CRC),
        .vapour_kpa = PUB(0.63, PERRY " (" NIOSH ": 0.80)"),
        .pel_ppm = PUB(100.0, Z1), .rel_ppm = PUB(50.0, NIOSH ", a ceiling; skin"), .stel_ppm = NO("the NIOSH ceiling stands as its limit"),
        .idlh_ppm = PUB(1400.0, NIOSH), G11(35.2, 1.4),
    },
    [METHYL_ACETATE] = {
        .name = "methyl acetate", .alias = {"methyl ethanoate"}, .cas = "79-20-9",
        .molar_g_mol = FORMULA(74.08), .density_kg_m3 = PUB(934.2, CRC), .flash_c = PUB(-10.0, NFPA), NO_CARD,
        .lel_pct = PUB(3.1, NFPA), .uel_pct = PUB(16.0, NFPA), .autoignition_c = PUB(454.0, NFPA " (IEC: 505)"), .boiling_c = PUB(56.7, CRC),
        .vapour_kpa = PUB(22.99, POLING),
        .pel_ppm = PUB(200.0, Z1), .rel_ppm = PUB(200.0, IDLH), .stel_ppm = PUB(250.0, IDLH), .idlh_ppm = PUB(3100.0, IDLH),
        G11(40.0, 3.1),
    },
    [TERT_BUTYL_ACETATE] = {
        .name = "tert-butyl acetate", .alias = {"t-butyl acetate", "TBAc"}, .cas = "540-88-5",
        .molar_g_mol = FORMULA(116.16), .density_kg_m3 = PUB(866.5, CRC),
        .flash_c = PUB(1.0, IEC " (a list made from NIOSH: 22; the sources conflict)"), NO_CARD,
        .lel_pct = PUB(1.3, IEC " (" IDLH ": 1.5; " NFPA ": 1.7)"), .uel_pct = NO("IEC 7.3 and NFPA 9.8 disagree"),
        .autoignition_c = PUB(435.0, IEC), .boiling_c = PUB(97.9, CRC), .vapour_kpa = NO("none found"),
        .pel_ppm = PUB(200.0, Z1), .rel_ppm = PUB(200.0, IDLH), .stel_ppm = NO_STEL, .idlh_ppm = PUB(1500.0, IDLH), NOT_G11,
    },
    [BUTOXYETHANOL] = {
        .name = "2-butoxyethanol", .alias = {"ethylene glycol monobutyl ether", "EGBE", "butyl glycol", "glycol ether EB", "EB solvent",
                                             "butoxyethanol"}, .cas = "111-76-2",
        .molar_g_mol = FORMULA(118.17), .density_kg_m3 = PUB(901.5, CRC), .flash_c = PUB(61.0, IEC), CARD(60.0),
        .lel_pct = PUB(1.1, IEC " and Table G-11, of hot vapour (about 200 F)"), .uel_pct = PUB(12.7, IEC), .autoignition_c = PUB(238.0, IEC),
        .boiling_c = PUB(171.0, CRC), .vapour_kpa = PUB(0.10, "EPA HERO 66464: 0.76 mmHg at 20 C"),
        .pel_ppm = PUB(50.0, Z1 ", skin"), .rel_ppm = PUB(5.0, IDLH ", skin"), .stel_ppm = NO_STEL, .idlh_ppm = PUB(700.0, IDLH),
        G11(24.8, 1.1),
    },
    [PM_ACETATE] = {
        .name = "PM acetate", .alias = {"PMA", "PGMEA", "propylene glycol monomethyl ether acetate", "propylene glycol methyl ether acetate",
                                        "1-methoxy-2-propyl acetate", "methoxypropyl acetate", "2-methoxy-1-methylethyl acetate"},
        .cas = "108-65-6",
        .molar_g_mol = FORMULA(132.16), .density_kg_m3 = PUB(968.0, "chemical data page"), .flash_c = PUB(42.0, "safety card 0800 (DIPPR: 42.9)"),
        CARD(42.0), .lel_pct = NO("not verified"), .uel_pct = NO("not verified"), .autoignition_c = NO("not verified"),
        .boiling_c = PUB(145.8, "chemical data page"), .vapour_kpa = NO("none found"),
        .pel_ppm = NO_Z1, .rel_ppm = NO_REL, .stel_ppm = NO_REL, .idlh_ppm = NO_REL, NOT_G11,
    },
    [TURPENTINE] = {
        .name = "turpentine", .alias = {"gum turpentine", "spirits of turpentine", "oil of turpentine", "turps"}, .cas = "8006-64-2",
        .molar_g_mol = PUB(136.2, NIOSH ": about 136"), .density_kg_m3 = PUB(860.0, NIOSH ": specific gravity 0.86"),
        .flash_c = PUB(35.0, NFPA ", " IEC), CARD(30.0), .lel_pct = PUB(0.8, NFPA ", " IEC), .uel_pct = NO("none found"),
        .autoignition_c = PUB(253.0, NFPA ", " IEC), .boiling_c = PUB(154.0, NIOSH ": 154 to 170 C"), .vapour_kpa = PUB(0.53, NIOSH ": 4 mmHg"),
        .pel_ppm = PUB(100.0, Z1), .rel_ppm = PUB(100.0, NIOSH), .stel_ppm = NO_STEL, .idlh_ppm = PUB(800.0, NIOSH), G11(20.8, 0.8),
    },
    [MINERAL_SPIRITS] = {
        .name = "mineral spirits", .alias = {"stoddard solvent", "white spirit", "mineral turpentine", "turpentine substitute",
                                             "petroleum spirits", "64742-47-8", "64742-48-9", "64742-88-7", "64742-82-1"}, .cas = "8052-41-3",
        .molar_g_mol = PUB(144.0, IDLH ": approximate"), .density_kg_m3 = NO("ranges only"),
        .flash_c = PUB(38.0, "public substance listings: 38 to 55 C"),
        .explosive_from_c = PUB(21.0, "International Chemical Safety Card 0361, for the lightest grades"),
        .lel_pct = PUB(1.0, "29 CFR 1910.94(c) Table G-11, naphtha, 100 F flash (Stoddard)"), .uel_pct = NO("none found"),
        .autoignition_c = NO("none found"), .boiling_c = PUB(149.0, "public substance listings: 149 to 204 C"), .vapour_kpa = NO("none found"),
        .pel_ppm = PUB(500.0, Z1), .rel_ppm = REFINED_REL(144.0), .stel_ppm = REFINED_STEL(144.0),
        .idlh_ppm = DER(20000.0 * MOLAR_VOLUME_25C_L_MOL / 144.0, IDLH ": 20000 mg/m3, at 24.45 l/mol and 144 g/mol"), G11(23.2, 1.0),
    },
    [VMP_NAPHTHA] = {
        .name = "VM&P naphtha", .alias = {"naphtha", "varnish makers and painters naphtha", "light aliphatic naphtha", "ligroin", "64742-89-8"},
        .cas = "8032-32-4",
        .molar_g_mol = NO(NIOSH " gives a range, 87 to 114"), .density_kg_m3 = NO(NIOSH " gives a range, 730 to 760"),
        .flash_c = PUB(-7.0, NIOSH ": -7 to 13 C"), NO_CARD, .lel_pct = PUB(0.9, "29 CFR 1910.94(c) Table G-11 (" NIOSH ": 1.2)"),
        .uel_pct = PUB(6.0, NIOSH), .autoignition_c = NO("none found"), .boiling_c = PUB(95.0, NIOSH ": 95 to 160 C"),
        .vapour_kpa = NO(NIOSH " gives a range, 2 to 20 mmHg"),
        .pel_ppm = NO_Z1, .rel_ppm = REFINED_REL(114.0), .stel_ppm = REFINED_STEL(114.0), .idlh_ppm = NO("NIOSH has not determined one"),
        G11(22.4, 0.9),
    },
    [PROPANE] = {
        .name = "propane", .alias = {NULL}, .cas = "74-98-6",
        .molar_g_mol = FORMULA(44.10), .density_kg_m3 = PUB(500.5, VDI), .flash_c = PUB(-104.0, "OSHA chemical data page 563"), NO_CARD,
        .lel_pct = PUB(2.1, NFPA), .uel_pct = PUB(9.5, NFPA), .autoignition_c = PUB(450.0, NFPA),
        .boiling_c = PUB(-42.0, "OSHA chemical data page 563"), .vapour_kpa = PUB(837.0, PERRY),
        .pel_ppm = PUB(1000.0, Z1), .rel_ppm = PUB(1000.0, IDLH), .stel_ppm = NO_STEL, .idlh_ppm = PUB(2100.0, IDLH), NOT_G11,
    },
    [BUTANE] = {
        .name = "n-butane", .alias = {"butane"}, .cas = "106-97-8",
        .molar_g_mol = FORMULA(58.12), .density_kg_m3 = PUB(578.4, VDI), .flash_c = NO("a gas"), NO_CARD,
        .lel_pct = PUB(1.6, NIOSH " (" NFPA ": 1.9)"), .uel_pct = PUB(8.4, NIOSH), .autoignition_c = PUB(288.0, NFPA " (IEC: 372)"),
        .boiling_c = PUB(-0.5, NIOSH), .vapour_kpa = PUB(208.0, PERRY),
        .pel_ppm = NO_Z1, .rel_ppm = PUB(800.0, NIOSH), .stel_ppm = NO_STEL, .idlh_ppm = PUB(1600.0, NIOSH), NOT_G11,
    },
    [ISOBUTANE] = {
        .name = "isobutane", .alias = {"2-methylpropane"}, .cas = "75-28-5",
        .molar_g_mol = FORMULA(58.12), .density_kg_m3 = PUB(557.2, VDI), .flash_c = NO("a gas"), NO_CARD,
        .lel_pct = PUB(1.3, IEC " (" NFPA ": 1.8)"), .uel_pct = PUB(8.4, NFPA), .autoignition_c = PUB(460.0, NFPA),
        .boiling_c = PUB(-11.7, CRC), .vapour_kpa = PUB(303.0, PERRY),
        .pel_ppm = NO_Z1, .rel_ppm = NO("not verified"), .stel_ppm = NO("not verified"), .idlh_ppm = NO("not verified"), NOT_G11,
    },
    [DIMETHYL_ETHER] = {
        .name = "dimethyl ether", .alias = {"DME", "methoxymethane"}, .cas = "115-10-6",
        .molar_g_mol = FORMULA(46.07), .density_kg_m3 = PUB(664.4, VDI), .flash_c = PUB(-41.0, NFPA), NO_CARD,
        .lel_pct = PUB(2.7, IEC " (" NFPA ": 3.4)"), .uel_pct = PUB(32.0, IEC " (" NFPA ": 27)"), .autoignition_c = PUB(240.0, IEC " (" NFPA ": 350)"),
        .boiling_c = PUB(-24.8, CRC), .vapour_kpa = PUB(512.0, PERRY),
        .pel_ppm = NO_Z1, .rel_ppm = NO_REL, .stel_ppm = NO_REL, .idlh_ppm = NO_REL, NOT_G11,
    },
    [PCBTF] = {
        .name = "PCBTF", .alias = {"1-chloro-4-(trifluoromethyl)benzene", "p-chlorobenzotrifluoride", "parachlorobenzotrifluoride"}, .cas = "98-56-6",
        .molar_g_mol = FORMULA(180.55), .density_kg_m3 = PUB(1334.0, CRC ", at 25 C; a little more at 20"),
        .flash_c = PUB(41.5, "DIPPR: 314.7 K"), NO_CARD, .lel_pct = NO("not verified"), .uel_pct = NO("not verified"),
        .autoignition_c = NO("not verified"), .boiling_c = PUB(138.5, CRC), .vapour_kpa = NO("none found"),
        .pel_ppm = NO_Z1, .rel_ppm = NO_REL, .stel_ppm = NO_REL, .idlh_ppm = NO_REL, NOT_G11,
    },
};

const struct solvent *solvent_table(unsigned *ret_count)
{
    *ret_count = ROWS;
    return solvents;
}

/* ---- words for what is no single solvent, and what it may be made of ---- */

#define ONE_OF_1(a) {.parts = 1, .worst_of = true, .part = {{&solvents[a], 100.0}}}
#define ONE_OF_2(a, b) {.parts = 2, .worst_of = true, .part = {{&solvents[a], 100.0}, {&solvents[b], 100.0}}}
#define ONE_OF_3(a, b, c)                                                                                \
    {.parts = 3, .worst_of = true, .part = {{&solvents[a], 100.0}, {&solvents[b], 100.0}, {&solvents[c], 100.0}}}
#define ONE_OF_4(a, b, c, d)                                                                             \
    {.parts = 4, .worst_of = true,                                                                        \
     .part = {{&solvents[a], 100.0}, {&solvents[b], 100.0}, {&solvents[c], 100.0}, {&solvents[d], 100.0}}}

static const struct blend {
    const char *name[5]; /* ends with NULL */
    struct solvent_mix mix;
} blends[] = { /* what they usually hold: from memory of labels; the sheet of the can says more */
    {{"lacquer thinner", "thinner", "gun wash", "gun cleaner"}, ONE_OF_4(TOLUENE, ACETONE, MEK, METHANOL)},
    {{"denatured alcohol", "methylated spirits", "alcohol", "meths"}, ONE_OF_2(ETHANOL, METHANOL)},
    {{"paint thinner", "enamel thinner", "brush cleaner", "petroleum distillates"}, ONE_OF_3(MINERAL_SPIRITS, VMP_NAPHTHA, XYLENE)},
    {{"enamel reducer", "synthetic reducer", "urethane reducer", "epoxy thinner"}, ONE_OF_4(XYLENE, TOLUENE, VMP_NAPHTHA, MEK)},
};
#define BLENDS (sizeof blends / sizeof *blends)

/* ---- finding ---- */

#define FOLDED_SIZE 64

/* Letters and digits only, in small letters; false where nothing is left or it is longer than any name. */
static bool fold(const char *text, char folded[FOLDED_SIZE])
{
    size_t length = 0;
    for (; *text != '\0'; text++) {
        if (!isalnum((unsigned char)*text) && (unsigned char)*text < 0x80u)
            continue;
        if (length == FOLDED_SIZE - 1)
            return false;
        folded[length++] = (char)tolower((unsigned char)*text);
    }
    folded[length] = '\0';
    return length > 0;
}

enum fit { FIT_NONE, FIT_START, FIT_WHOLE };

static enum fit fit_name(const char *name, const char *wanted)
{
    char folded[FOLDED_SIZE];
    if (!fold(name, folded) || strncmp(folded, wanted, strlen(wanted)) != 0)
        return FIT_NONE;
    return strcmp(folded, wanted) == 0 ? FIT_WHOLE : FIT_START;
}

static enum fit fit_solvent(const struct solvent *solvent, const char *wanted)
{
    enum fit best = fit_name(solvent->name, wanted);
    for (size_t i = 0; i < SOLVENT_NAMES_MAX && solvent->alias[i] != NULL; i++) {
        enum fit fit = fit_name(solvent->alias[i], wanted);
        best = fit > best ? fit : best;
    }
    return fit_name(solvent->cas, wanted) == FIT_WHOLE ? FIT_WHOLE : best;
}

static const struct blend *find_blend(const char *text)
{
    char wanted[FOLDED_SIZE];
    for (size_t b = 0; fold(text, wanted) && b < BLENDS; b++) {
        for (size_t i = 0; i < sizeof blends[b].name / sizeof *blends[b].name && blends[b].name[i] != NULL; i++) {
            if (fit_name(blends[b].name[i], wanted) == FIT_WHOLE)
                return &blends[b];
        }
    }
    return NULL;
}

/* The best fit there is; *ret_count of the table's rows have it. */
static enum fit best_fit(const char *wanted, const struct solvent **ret, unsigned *ret_count)
{
    enum fit best = FIT_NONE;
    for (unsigned i = 0; i < ROWS; i++) {
        enum fit fit = fit_solvent(&solvents[i], wanted);
        if (fit == FIT_NONE || fit < best)
            continue;
        *ret_count = fit > best ? 1 : *ret_count + 1;
        *ret = fit > best ? &solvents[i] : *ret;
        best = fit;
    }
    return best;
}

/* The names with at least that fit, as "a, b, c", cut where they do not all go in. */
static void list_names(const char *wanted, enum fit least, char *list, size_t size)
{
    size_t length = 0;
    list[0] = '\0';
    for (unsigned i = 0; i < ROWS; i++) {
        size_t needed = strlen(solvents[i].name) + (length > 0 ? 2 : 0);
        if ((least > FIT_NONE && fit_solvent(&solvents[i], wanted) < least) || length + needed >= size)
            continue;
        length += (size_t)snprintf(list + length, size - length, "%s%s", length > 0 ? ", " : "", solvents[i].name);
    }
}

static enum coat_result fail_find(const char *name, const char *wanted, enum fit fit, struct coat_error *error)
{
    char list[280];
    if (find_blend(name) != NULL)
        return coat_fail(error, COAT_NOT_FOUND, "solvent", "\"%.40s\" is a mixture: write what section 3 of its safety data sheet lists, "
                         "each with its share, for example toluene=60%%", name);
    list_names(wanted, fit, list, sizeof list);
    if (fit == FIT_NONE)
        return coat_fail(error, COAT_NOT_FOUND, "solvent", "\"%.24s\" is not known: write one of %s", name, list);
    return coat_fail(error, COAT_NOT_FOUND, "solvent", "\"%.40s\" may be %s: write more of it", name, list);
}

enum coat_result solvent_find(const char *name, const struct solvent **ret, struct coat_error *error)
{
    char wanted[FOLDED_SIZE] = "";
    const struct solvent *found = NULL;
    unsigned count = 0;
    enum fit fit = fold(name, wanted) ? best_fit(wanted, &found, &count) : FIT_NONE;
    if (fit != FIT_WHOLE && find_blend(name) != NULL)
        fit = FIT_NONE;
    if (fit == FIT_NONE || count != 1)
        return fail_find(name, wanted, fit, error);
    *ret = found;
    return COAT_OK;
}

/* ---- figures ---- */

static double lower_known(double a, double b)
{
    return fmin(a, b); /* fmin passes over a NAN */
}

double solvent_limit_ppm(const struct solvent *solvent)
{
    return lower_known(lower_known(solvent->pel_ppm.value, solvent->rel_ppm.value), solvent->stel_ppm.value);
}

#define GAS_CONSTANT_J_MOL_K 8.314462618 /* CODATA 2018 */
#define PRESSURE_PA 101325.0
#define KELVIN 273.15
#define G11_TEMP_C (38.0 / 1.8)          /* 70 F */
#define GALLON_FT3 (231.0 / 1728.0)      /* US gallon, by definition 231 cubic inches */

double solvent_expansion(const struct solvent *solvent, double temp_c)
{
    if (!(temp_c >= -60.0 && temp_c <= 500.0))
        return (double)NAN;
    double mol_m3 = solvent->density_kg_m3.value * 1000.0 / solvent->molar_g_mol.value;
    if (isfinite(mol_m3))
        return mol_m3 * GAS_CONSTANT_J_MOL_K * (temp_c + KELVIN) / PRESSURE_PA;
    return solvent->g11_ft3_gal.value / GALLON_FT3 * (temp_c + KELVIN) / (G11_TEMP_C + KELVIN);
}

bool solvent_is_gas(const struct solvent *solvent)
{
    return solvent->boiling_c.value <= 0.0; /* false where it is not known */
}

enum solvent_category solvent_category_of(double flash_c, double boiling_c)
{
    if (boiling_c <= 0.0)
        return SOLVENT_GAS;
    if (!isfinite(flash_c))
        return SOLVENT_CATEGORY_UNKNOWN;
    if (flash_c < 23.0)
        return boiling_c > 35.0 ? SOLVENT_CATEGORY_2 : SOLVENT_CATEGORY_1; /* not known counts as the stricter */
    if (flash_c <= 60.0)
        return SOLVENT_CATEGORY_3;
    return flash_c <= 93.0 ? SOLVENT_CATEGORY_4 : SOLVENT_NOT_CATEGORISED;
}

enum solvent_category solvent_category(const struct solvent *solvent)
{
    return solvent_category_of(solvent->flash_c.value, solvent->boiling_c.value);
}

/* ---- mixtures ---- */

#define TOTAL_MOST_PCT 100.001 /* a third three times */

static enum coat_result read_part(const char *text, const struct solvent **ret_solvent, double *ret_share_pct, struct coat_error *error)
{
    char name[FOLDED_SIZE];
    const char *equals = strrchr(text, '=');
    if (equals == NULL || equals == text || (size_t)(equals - text) >= sizeof name)
        return coat_fail(error, COAT_BAD_VALUE, "solvent", "\"%.60s\" is not readable: write a name and its share by volume, for example "
                         "toluene=60%%", text);
    memcpy(name, text, (size_t)(equals - text));
    name[equals - text] = '\0';
    double share_pct = 0.0;
    if (quantity_parse(QUANTITY_SHARE, equals + 1, &share_pct, NULL) != COAT_OK || !(share_pct > 0.0))
        return coat_fail(error, COAT_BAD_VALUE, "solvent", "\"%.20s\" in \"%.60s\" is no share: write above 0%% and at most 100%%, for "
                         "example %.40s=60%%", equals + 1, text, name);
    enum coat_result result = solvent_find(name, ret_solvent, error);
    if (result == COAT_OK)
        *ret_share_pct = share_pct;
    return result;
}

enum coat_result solvent_mix_add(struct solvent_mix *mix, const char *text, struct coat_error *error)
{
    const struct solvent *solvent = NULL;
    double share_pct = 0.0;
    enum coat_result result = read_part(text, &solvent, &share_pct, error);
    if (result != COAT_OK)
        return result;
    for (unsigned i = 0; i < mix->parts; i++) {
        if (mix->part[i].solvent == solvent)
            return coat_fail(error, COAT_BAD_VALUE, "solvent", "%s is given twice: write it once, with its whole share", solvent->name);
    }
    if (mix->parts >= SOLVENT_PARTS_MAX)
        return coat_fail(error, COAT_BAD_VALUE, "solvent", "at most %d solvents: add what is left to the most like of them", SOLVENT_PARTS_MAX);
    double total_pct = solvent_mix_total_pct(mix) + share_pct;
    if (total_pct > TOTAL_MOST_PCT)
        return coat_fail(error, COAT_BAD_VALUE, "solvent", "with %s the shares add up to %.4g%%: write shares of one volume, at most "
                         "100%% together", solvent->name, total_pct);
    mix->part[mix->parts].solvent = solvent;
    mix->part[mix->parts++].share_pct = share_pct;
    return COAT_OK;
}

/* One word for all of it: a solvent, or a blend. */
static enum coat_result parse_whole(const char *text, struct solvent_mix *ret, struct coat_error *error)
{
    const struct blend *blend = find_blend(text);
    if (blend != NULL) {
        *ret = blend->mix;
        return COAT_OK;
    }
    const struct solvent *solvent = NULL;
    enum coat_result result = solvent_find(text, &solvent, error);
    if (result == COAT_OK)
        *ret = (struct solvent_mix){.parts = 1, .part = {{solvent, 100.0}}};
    return result;
}

enum coat_result solvent_mix_parse(const char *text, struct solvent_mix *ret, struct coat_error *error)
{
    char part[96];
    struct solvent_mix mix = {0};
    if (strchr(text, '=') == NULL)
        return parse_whole(text, ret, error);
    for (const char *at = text; at != NULL;) {
        const char *comma = strchr(at, ',');
        size_t length = comma != NULL ? (size_t)(comma - at) : strlen(at);
        if (length >= sizeof part)
            return coat_fail(error, COAT_BAD_VALUE, "solvent", "\"%.40s...\" is too long for a solvent and its share", at);
        memcpy(part, at, length);
        part[length] = '\0';
        enum coat_result result = solvent_mix_add(&mix, part, error);
        if (result != COAT_OK)
            return result;
        at = comma != NULL ? comma + 1 : NULL;
    }
    *ret = mix;
    return COAT_OK;
}

char *solvent_mix_print(const struct solvent_mix *mix, char *text, size_t size)
{
    size_t length = 0;
    if (size > 0)
        text[0] = '\0';
    for (unsigned i = 0; i < mix->parts && length < size; i++) {
        const char *between = i == 0 ? "" : mix->worst_of ? " or " : ", ";
        length += (size_t)snprintf(text + length, size - length, "%s%s", between, mix->part[i].solvent->name);
        if (!mix->worst_of && length < size)
            length += (size_t)snprintf(text + length, size - length, "=%.6g%%", mix->part[i].share_pct);
    }
    return text;
}

double solvent_mix_total_pct(const struct solvent_mix *mix)
{
    double total_pct = mix->worst_of ? 100.0 : 0.0;
    for (unsigned i = 0; i < mix->parts && !mix->worst_of; i++)
        total_pct += mix->part[i].share_pct;
    return total_pct;
}

static double ignitable_from_c(const struct solvent *solvent)
{
    double from_c = lower_known(solvent->flash_c.value, solvent->explosive_from_c.value);
    return solvent_is_gas(solvent) ? lower_known(from_c, solvent->boiling_c.value) : from_c;
}

double solvent_mix_ignitable_from_c(const struct solvent_mix *mix, bool *ret_complete)
{
    double lowest_c = (double)NAN;
    bool complete = mix->parts > 0;
    for (unsigned i = 0; i < mix->parts; i++) {
        double from_c = ignitable_from_c(mix->part[i].solvent);
        complete = complete && (mix->worst_of || isfinite(from_c));
        lowest_c = lower_known(lowest_c, from_c);
    }
    *ret_complete = complete;
    return lowest_c;
}

/* ---- where nobody told what is in it ---- */

#define OF_CLASS(volatile_pct, solvent_mix_, mark, text)                                                 \
    {.solvent_pct = (volatile_pct), .solvent = solvent_mix_, .basis = (mark), .source = text}

/* Volatile: 100 % less the least solids by volume that a can of the class may have, thinned as usual. Candidates: what may be
 * the main solvent. Both are common knowledge of labels, and no published source gives a worst of a class. */
static const struct solvent_default defaults[MATERIAL_CLASS_COUNT] = {
    [CLASS_ALKYD_ENAMEL] = OF_CLASS(60.0, ONE_OF_2(MINERAL_SPIRITS, XYLENE), BASIS_PRACTICE,
                                    "common practice: alkyd of 50 % solids by volume, thinned a tenth; mineral spirits, or xylene in quick ones"),
    [CLASS_SPRAY_ENAMEL] = {
        .solvent_pct = 60.0, .solvent = ONE_OF_4(TOLUENE, XYLENE, ACETONE, MEK),
        .propellant_pct = 40.0, .propellant = ONE_OF_3(PROPANE, BUTANE, ISOBUTANE), .basis = BASIS_MEMORY,
        .source = "from memory: a quarter to two fifths propellant, a few percent solids, here none; dimethyl ether, which "
                  "has no limit to compare with, is passed over",
    },
    [CLASS_ALKYD_PRIMER] = OF_CLASS(65.0, ONE_OF_3(MINERAL_SPIRITS, XYLENE, TOLUENE), BASIS_PRACTICE,
                                    "common practice: 45 % solids by volume, thinned a tenth; quick ones hold xylene or toluene"),
    [CLASS_LACQUER] = OF_CLASS(90.0, ONE_OF_4(TOLUENE, ACETONE, MEK, BUTYL_ACETATE), BASIS_MEMORY,
                               "from memory: 20 % solids by volume, thinned one to one for spraying"),
    [CLASS_SHELLAC] = OF_CLASS(95.0, ONE_OF_2(ETHANOL, METHANOL), BASIS_MEMORY,
                               "from memory: a thin cut in denatured alcohol, which may be methanol to a large part"),
    [CLASS_OIL_VARNISH] = OF_CLASS(65.0, ONE_OF_3(MINERAL_SPIRITS, TURPENTINE, XYLENE), BASIS_PRACTICE,
                                   "common practice: 45 to 50 % solids by volume, thinned for the first coat"),
    [CLASS_EPOXY_PRIMER] = OF_CLASS(70.0, ONE_OF_4(XYLENE, TOLUENE, MEK, BUTANOL), BASIS_MEMORY,
                                    "from memory: 40 % solids by volume, thinned; xylene with an alcohol, or ketones"),
    [CLASS_EPOXY_BUILD] = OF_CLASS(40.0, ONE_OF_3(XYLENE, MEK, BUTANOL), BASIS_MEMORY, "from memory: 60 % solids by volume or more"),
    [CLASS_POLYURETHANE] = OF_CLASS(65.0, ONE_OF_4(XYLENE, TOLUENE, MEK, BUTYL_ACETATE), BASIS_MEMORY,
                                    "from memory: 40 % solids by volume, thinned; PM acetate, which has no LEL to compare with, is passed over"),
    [CLASS_WATERBORNE] = OF_CLASS(15.0, ONE_OF_1(BUTOXYETHANOL), BASIS_MEMORY, "from memory: up to 15 % glycol ethers; the rest is water"),
    [CLASS_SIZE_QUICK] = OF_CLASS(70.0, ONE_OF_3(MINERAL_SPIRITS, TURPENTINE, XYLENE), BASIS_MEMORY, "from memory: a thin oil and resin varnish"),
    [CLASS_SIZE_SLOW] = OF_CLASS(50.0, ONE_OF_2(MINERAL_SPIRITS, TURPENTINE), BASIS_MEMORY, "from memory: thickened oil, thinned"),
    [CLASS_SIZE_JAPAN] = OF_CLASS(75.0, ONE_OF_3(MINERAL_SPIRITS, TURPENTINE, XYLENE), BASIS_MEMORY, "from memory: thin japan drier and resin"),
    [CLASS_SIZE_WATER] = OF_CLASS(10.0, ONE_OF_1(BUTOXYETHANOL), BASIS_MEMORY, "from memory: a few percent glycol ethers; the rest is water"),
    [CLASS_TRANSFER] = OF_CLASS(20.0, ONE_OF_1(BUTOXYETHANOL), BASIS_MEMORY, "from memory: softening liquids with glycol ethers"),
    [CLASS_BAKING_JAPAN] = OF_CLASS(75.0, ONE_OF_4(TURPENTINE, MINERAL_SPIRITS, VMP_NAPHTHA, XYLENE), BASIS_MEMORY,
                                    "from memory: asphalt and oil cut thin with turpentine or mineral spirits"),
    [CLASS_STOVING_ENAMEL] = OF_CLASS(70.0, ONE_OF_3(XYLENE, TOLUENE, BUTANOL), BASIS_MEMORY,
                                      "from memory: 40 % solids by volume, thinned for spraying; aromatics with butanol"),
    [CLASS_TOUCH_UP] = OF_CLASS(60.0, ONE_OF_2(MINERAL_SPIRITS, XYLENE), BASIS_PRACTICE, "common practice: as alkyd enamel"),
};

enum coat_result solvent_default_of_class(enum material_class material_class, struct solvent_default *ret)
{
    if ((unsigned)material_class >= MATERIAL_CLASS_COUNT)
        return COAT_NOT_FOUND;
    *ret = defaults[material_class];
    return COAT_OK;
}

#define RETAINED_PCT 30.0

const char solvent_retained_source[] =
    "from memory: a film that has flashed off at room temperature still holds a tenth to a third of its solvent; the upper end is taken, "
    "and all of it where the flash-off time was not kept";

double solvent_retained_pct(bool flashed_off)
{
    return flashed_off ? RETAINED_PCT : 100.0;
}
