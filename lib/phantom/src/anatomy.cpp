// The distributions of the permanent teeth.
//
// Lengths, crown heights and crown widths: textbook means of Black's family, from memory. Apical
// diameters: medians of [Wu2000], from memory. Canal systems: [Vertucci1984], from memory, but for
// the second mesiobuccal canal of upper molars: 69.6 % and 39.0 % from a meta-analysis of 26
// studies [PooledMB2], divided between types II and IV as in [Vertucci1984]. Foramen offsets:
// [Wolf2017] for molars, [Martos2009] for the others. Third molars, widths at the orifice and the
// sides that bends favour: common practice, no source.

#include "anatomy.h"

namespace anfract {

namespace {

/// Millimetres at 1, 2 and 5 mm from the apex: buccolingual then mesiodistal, as the table has
/// them.
CanalWidths bl_md(std::array<double, 6> w, double orifice_md, double orifice_bl) {
    return {{1, w[1], w[0]}, {2, w[3], w[2]}, {5, w[5], w[4]}, {12, orifice_md, orifice_bl}};
}

RootAnatomy one_root(const SystemWeights& systems, const CanalWidths& single, bool upper) {
    RootAnatomy root;
    root.first = "B";
    root.second = upper ? "P" : "L";
    root.systems = systems;
    root.single = single;
    root.foramen_offset_mm = 0.39;
    return root;
}

RootAnatomy molar_root(const std::string& label, const std::string& first,
                       const std::string& second, const SystemWeights& systems,
                       const CanalWidths& single, double foramen_offset_mm, double toward_deg) {
    RootAnatomy root;
    root.label = label;
    root.first = first;
    root.second = second;
    root.systems = systems;
    root.single = root.first_of_two = root.second_of_two = single;
    root.foramen_offset_mm = foramen_offset_mm;
    root.bend_toward_deg = toward_deg;
    return root;
}

/// A root with two canals has two of half its breadth.
void halve(RootAnatomy& root) {
    for (CanalWidths* widths : {&root.first_of_two, &root.second_of_two}) {
        *widths = root.single;
        for (WidthDesign* w : {&widths->at_1, &widths->at_2, &widths->at_5, &widths->orifice}) {
            w->short_mm *= 0.85;
            w->long_mm = std::max(w->short_mm, 0.55 * w->long_mm);
        }
    }
}

ToothAnatomy anterior(double length, double crown, double md, double bl, const RootAnatomy& root) {
    ToothAnatomy tooth{length, 1.5, crown, md / 2, bl / 2, {root}};
    halve(tooth.roots[0]);
    return tooth;
}

ToothAnatomy premolar(double length, double crown, double md, double bl, RootAnatomy root,
                      const CanalWidths& buccal, const CanalWidths& inner) {
    root.first_of_two = buccal;
    root.second_of_two = inner;
    root.foramen_offset_mm = 0.7;
    return {length, 1.4, crown, md / 2, bl / 2, {root}};
}

ToothAnatomy upper_molar(double length, double md, double bl, double second_mb, double mb_offset,
                         double db_offset, double p_offset) {
    RootAnatomy mb =
        molar_root("MB", "MB", "MB2", {1 - second_mb, second_mb * 37 / 55, 0, second_mb * 18 / 55},
                   bl_md({.43, .22, .46, .32, .96, .29}, .65, 1.2), mb_offset, 180);
    mb.first_of_two = bl_md({.19, .13, .37, .27, .46, .32}, .65, .85);
    mb.second_of_two = bl_md({.19, .16, .31, .16, .38, .16}, .30, .45);
    const RootAnatomy db = molar_root("DB", "DB", "DB2", {1},
                                      bl_md({.22, .17, .33, .25, .49, .31}, .65, .8), db_offset, 0);
    const RootAnatomy p = molar_root("P", "P", "P2", {1},
                                     bl_md({.29, .33, .40, .40, .55, .74}, 1.5, 1.1), p_offset, 90);
    return {length, 1.3, 7.5, md / 2, bl / 2, {mb, db, p}};
}

ToothAnatomy lower_molar(double length, double md, double bl, const SystemWeights& mesial,
                         const SystemWeights& distal, double m_offset, double d_offset) {
    RootAnatomy m = molar_root("M", "MB", "ML", mesial,
                               bl_md({.45, .22, .80, .30, 1.6, .29}, .60, 1.9), m_offset, 180);
    m.first_of_two = bl_md({.40, .21, .42, .26, .64, .32}, .75, 1.0);
    m.second_of_two = bl_md({.38, .28, .44, .24, .61, .35}, .70, .90);
    RootAnatomy d = molar_root("D", "DB", "DL", distal,
                               bl_md({.46, .35, .50, .34, 1.07, .59}, 1.0, 1.8), d_offset, 0);
    halve(d);
    return {length, 1.3, 7.5, md / 2, bl / 2, {m, d}};
}

std::array<ToothAnatomy, 8> upper_teeth() {
    const CanalWidths single_premolar = bl_md({.37, .26, .63, .41, 1.13, .38}, .75, 2.2);
    const CanalWidths buccal = bl_md({.30, .23, .40, .31, .35, .31}, .70, .9);
    const CanalWidths palatal = bl_md({.23, .17, .37, .26, .42, .33}, .75, .9);
    return {
        anterior(22.5, 10.0, 9.0, 7.0,
                 one_root({1}, bl_md({.34, .30, .47, .36, .76, .54}, 1.0, 1.1), true)),
        anterior(22.0, 8.8, 6.4, 6.0,
                 one_root({1}, bl_md({.45, .33, .60, .33, .77, .47}, .85, .95), true)),
        anterior(26.5, 9.5, 7.6, 8.0,
                 one_root({1}, bl_md({.31, .29, .58, .44, .63, .50}, .95, 1.4), true)),
        premolar(20.6, 8.2, 7.2, 9.1, one_root({8, 18, 0, 62, 7, 0, 0, 5}, single_premolar, true),
                 buccal, palatal),
        premolar(21.5, 7.5, 6.8, 8.8, one_root({48, 22, 5, 11, 6, 5, 2, 1}, single_premolar, true),
                 buccal, palatal),
        upper_molar(20.8, 10.7, 11.8, 0.696, 0.82, 0.81, 1.02),
        upper_molar(20.0, 9.2, 11.5, 0.390, 0.54, 0.43, 0.63),
        upper_molar(17.8, 8.6, 10.6, 0.25, 0.5, 0.5, 0.6),
    };
}

std::array<ToothAnatomy, 8> lower_teeth() {
    const CanalWidths incisor = bl_md({.37, .25, .52, .25, .81, .29}, .55, 1.1);
    const CanalWidths canine = bl_md({.47, .36, .45, .36, .74, .57}, .85, 1.3);
    const CanalWidths single_premolar = bl_md({.35, .28, .40, .32, .76, .49}, .80, 1.6);
    const CanalWidths half_premolar = bl_md({.24, .20, .28, .22, .36, .28}, .75, 1.4);
    return {
        anterior(20.7, 8.8, 5.4, 6.0, one_root({70, 5, 22, 3}, incisor, false)),
        anterior(21.1, 9.6, 5.9, 6.4, one_root({75, 5, 18, 2}, incisor, false)),
        anterior(25.6, 10.3, 6.9, 7.9, one_root({78, 14, 2, 6}, canine, false)),
        premolar(21.6, 7.8, 6.9, 7.7,
                 one_root({70, 0, 4, 1.5, 24, 0, 0, .5}, single_premolar, false), half_premolar,
                 half_premolar),
        premolar(22.3, 7.9, 7.1, 8.0, one_root({97.5, 0, 0, 0, 2.5}, single_premolar, false),
                 half_premolar, half_premolar),
        lower_molar(21.0, 11.2, 10.3, {12, 28, 0, 43, 8, 10, 0, 1}, {70, 15, 0, 5, 8, 2}, 0.95,
                    1.05),
        lower_molar(19.8, 10.7, 10.1, {27, 38, 0, 26, 9}, {92, 3, 0, 4, 1}, 0.78, 0.81),
        lower_molar(18.5, 10.7, 9.8, {40, 35, 0, 20, 5}, {95, 2, 0, 2, 1}, 0.7, 0.7),
    };
}

}  // namespace

const ToothAnatomy& anatomy_of(bool upper, int place) {
    static const std::array<ToothAnatomy, 8> uppers = upper_teeth(), lowers = lower_teeth();
    return (upper ? uppers : lowers)[static_cast<std::size_t>(place - 1)];
}

}  // namespace anfract
