// Designs of teeth with one root. Apical diameters: medians of [Wu2000]; tooth lengths: textbook
// means, from memory. Outlines of crowns and roots are common practice, no source.

#include "tooth_kinds.h"

namespace anfract {

ToothDesign lower_premolar_design() {
    ToothDesign tooth;
    tooth.kind = "lower-premolar";
    tooth.fdi = "34";
    tooth.crown.outline = {{0.0, 1.9, 2.2}, {2.0, 3.0, 3.4},  {4.0, 3.5, 3.8},  {6.0, 3.2, 3.7},
                           {8.0, 2.6, 3.4}, {10.0, 2.3, 3.1}, {12.0, 2.0, 2.8}, {14.0, 1.7, 2.4}};
    tooth.crown.boxy = false;
    tooth.crown.fossa_z_mm = 3.0;
    tooth.crown.cusps = {{{0.0, 0.9}, 3.35, 1.35}, {{0.2, -2.1}, 1.2, 1.0}};
    tooth.crown.cej_z_mm = 8.0;
    tooth.crown.enamel_mm = 1.7;
    tooth.crown.trunk_end_z_mm = 12.5;
    tooth.chamber.centre_mm = {0, 0.1, 7.6};
    tooth.chamber.half_mm = {0.75, 1.45, 3.0};
    tooth.chamber.flat_floor = false;
    tooth.chamber.horns = {{{0, 0.6, 6.2}, {0, 1.0, 3.9}, 0.4}};

    CanalDesign b;
    b.name = "B";
    b.orifice_mm = {0, 0};
    b.start_tilt_deg = {-2, 0};
    b.course_mm = 10.3;
    b.bends = {{0.58, 17, 90, 3.8}, {0.86, 12, 270, 2.6}, {0.75, 8, 180, 4}};
    b.widths = widths({1, .26, .35}, {2, .30, .38}, {5, .40, .60}, {10.5, .75, 1.4});
    b.foramen_offset_mm = 0.6;
    b.foramen_toward_deg = 100;

    CanalDesign l = b;
    l.name = "L";
    l.course_mm = 9.9;
    l.bends = {{0.60, 26, 270, 3.6}, {0.87, 20, 90, 2.6}, {0.75, 8, 180, 4}};
    l.widths = widths({1, .20, .24}, {2, .22, .28}, {5, .28, .36}, {10.5, .75, 1.4});
    l.foramen_toward_deg = 260;
    l.leaves = "B";
    l.leaves_at = 0.36;
    tooth.canals = {b, l};

    const RootDesign b_root{"B", 2.35, 1.8, 3.0, 1.9, 0.95, {0, 0.1}, 1.0, 2.5};
    const RootDesign l_root{"L", 2.2, 1.7, 2.9, 1.8, 0.9, {0, -0.1}, 1.0, 2.5};
    tooth.roots = {b_root, l_root};
    tooth.fillings = {{{0.0, -1.2}, {1.0, 0.8}, 3.9}};
    return tooth;
}

ToothDesign straight_design(double diameter_mm) {
    ToothDesign tooth = lower_premolar_design();
    CanalDesign canal;
    canal.name = "I";
    canal.course_mm = 10.5;
    for (const double at : {0.0, 5.0, 10.0, 15.0}) {
        canal.widths.push_back({at, diameter_mm, diameter_mm});
    }
    canal.foramen_offset_mm = 0.1;
    tooth.canals = {canal};
    tooth.roots = {{"I", 2.35, 1.8, 3.0, 2.3, 0.95, {0, 0}, 1.0, 2.5}};
    return tooth;
}

ToothDesign upper_lateral_design() {
    ToothDesign tooth;
    tooth.kind = "upper-lateral";
    tooth.fdi = "12";
    tooth.crown.outline = {{0.0, 3.0, 0.9},  {2.0, 3.2, 1.3}, {4.0, 3.25, 1.9}, {6.0, 3.0, 2.6},
                           {8.0, 2.7, 2.85}, {9.5, 2.4, 2.7}, {11.5, 2.2, 2.5}, {13.5, 1.9, 2.2}};
    tooth.crown.boxy = false;
    tooth.crown.fossa_z_mm = 1.2;
    // A row of low bumps makes the incisal edge.
    tooth.crown.cusps = {{{0.0, 0.0}, 1.5, 1.4}, {{1.8, 0.0}, 1.0, 1.0}, {{-1.8, 0.0}, 0.9, 1.0}};
    tooth.crown.cej_z_mm = 9.0;
    tooth.crown.enamel_mm = 1.1;
    tooth.crown.trunk_end_z_mm = 12.0;
    tooth.chamber.centre_mm = {0, 0, 8.0};
    tooth.chamber.half_mm = {0.95, 0.65, 3.3};
    tooth.chamber.flat_floor = false;
    tooth.chamber.horns = {{{0.3, 0, 6.0}, {0.9, 0, 4.2}, 0.25},
                           {{-0.3, 0, 6.0}, {-0.8, 0, 4.4}, 0.25}};

    CanalDesign canal;
    canal.name = "I";
    canal.orifice_mm = {0, 0};
    canal.start_tilt_deg = {1, 0};
    canal.course_mm = 10.6;
    canal.bends = {{0.45, 6, 200, 6.0}, {0.84, 48, 200, 3.4}};  // the hook, distal and palatal
    canal.widths = widths({1, .33, .45}, {2, .33, .60}, {5, .47, .77}, {11, .85, .95});
    canal.foramen_offset_mm = 0.45;
    canal.foramen_toward_deg = 210;
    tooth.canals = {canal};
    tooth.roots = {{"I", 2.35, 1.75, 2.6, 1.9, 0.85, {0, 0}, 1.0, 2.5}};
    tooth.fillings = {{{2.0, 0.0}, {0.7, 0.9}, 2.4}};
    return tooth;
}

}  // namespace anfract
