// Molar designs. Heights of cusp, chamber roof, floor and furcation: [Deutsch2004]; apical
// diameters: medians of [Wu2000]; foramen offsets: [Wolf2017]; distances of upper molar orifices:
// PMID 30895057. Outlines of crowns and roots are common practice, no source.

#include <cmath>

#include "tooth_kinds.h"

namespace anfract {

namespace {

// A lower molar's outer form; both lower kinds use it.
CrownDesign lower_molar_crown() {
    CrownDesign crown;
    crown.outline = {{0.0, 4.1, 3.7}, {1.8, 4.9, 4.6}, {3.4, 5.25, 5.0}, {5.2, 4.9, 4.7},
                     {6.6, 4.5, 4.3}, {8.6, 4.1, 3.9}, {11.2, 3.3, 2.9}, {12.5, 3.0, 2.6}};
    crown.fossa_z_mm = 2.1;
    crown.cusps = {{{2.5, 2.1}, 2.35, 1.15},
                   {{-2.2, 2.2}, 1.9, 1.2},
                   {{2.3, -2.2}, 1.9, 1.15},
                   {{-2.2, -2.1}, 1.75, 1.2}};
    crown.cej_z_mm = 6.3;
    crown.enamel_mm = 2.0;
    crown.trunk_end_z_mm = 10.95;
    return crown;
}

}  // namespace

std::vector<WidthDesign> widths(const WidthDesign& at_1, const WidthDesign& at_2,
                                const WidthDesign& at_5, const WidthDesign& orifice) {
    return {
        {0.0, at_1.short_mm * 1.2, at_1.long_mm * 1.12},
        at_1,
        at_2,
        at_5,
        {0.5 * (at_5.from_foramen_mm + orifice.from_foramen_mm),
         0.6 * at_5.short_mm + 0.4 * orifice.short_mm, 0.6 * at_5.long_mm + 0.4 * orifice.long_mm},
        orifice};
}

ToothDesign lower_molar_design() {
    ToothDesign tooth;
    tooth.kind = "lower-molar";
    tooth.fdi = "37";
    tooth.crown = lower_molar_crown();
    tooth.chamber.centre_mm = {0.1, 0, 7.17};
    tooth.chamber.half_mm = {2.5, 1.9, 0.82};
    tooth.chamber.horns = {{{1.7, 1.1, 6.8}, {2.2, 1.6, 4.9}, 0.45},
                           {{1.6, -1.1, 6.8}, {2.1, -1.6, 5.1}, 0.45},
                           {{-1.6, 0.8, 6.8}, {-2.0, 1.3, 5.6}, 0.45},
                           {{-1.6, -0.8, 6.8}, {-2.0, -1.3, 5.6}, 0.45}};
    CanalDesign mb;
    mb.name = "MB";
    mb.orifice_mm = {2.05, 1.25};
    mb.start_tilt_deg = {14, 6};
    mb.course_mm = 12.5;
    mb.bends = {{0.33, 30, 180, 5.0}, {0.45, 16, 270, 5.0}, {0.72, 24, 0, 3.5}};
    mb.widths = widths({1, .21, .40}, {2, .26, .42}, {5, .32, .64}, {13, .75, 1.0});
    mb.foramen_offset_mm = 0.78;
    mb.foramen_toward_deg = 150;

    CanalDesign ml = mb;
    ml.name = "ML";
    ml.orifice_mm = {1.95, -1.25};
    ml.start_tilt_deg = {12, -6};
    ml.course_mm = 12.2;
    ml.bends = {{0.36, 28, 180, 5.0}, {0.46, 14, 90, 5.0}, {0.74, 22, 10, 3.5}};
    ml.widths = widths({1, .28, .38}, {2, .24, .44}, {5, .35, .61}, {13, .70, .90});
    ml.foramen_toward_deg = 220;

    CanalDesign d;
    d.name = "D";
    d.orifice_mm = {-1.95, 0};
    d.start_tilt_deg = {-9, 1};
    d.course_mm = 11.9;
    d.bends = {{0.50, 14, 0, 6.0}, {0.82, 12, 170, 3.0}};
    d.widths = widths({1, .35, .46}, {2, .34, .50}, {5, .59, 1.07}, {13, 1.0, 1.8});
    d.foramen_offset_mm = 0.81;
    d.foramen_toward_deg = 190;
    tooth.canals = {mb, ml, d};

    RootDesign root;
    root.canal = "MB";
    root.half_md_start_mm = 1.75;
    root.half_md_middle_mm = 1.32;
    root.half_bl_start_mm = 2.1;
    root.half_bl_middle_mm = 1.65;
    root.offset_mm = {0.12, 0.15};
    RootDesign ml_root = root;
    ml_root.canal = "ML";
    ml_root.offset_mm = {0.12, -0.15};
    RootDesign d_root = root;
    d_root.canal = "D";
    d_root.half_md_start_mm = 1.8;
    d_root.half_md_middle_mm = 1.45;
    d_root.half_bl_start_mm = 3.2;
    d_root.half_bl_middle_mm = 2.3;
    d_root.tip_radius_mm = 0.95;
    d_root.offset_mm = {-0.05, 0};
    tooth.roots = {root, ml_root, d_root};
    tooth.fillings = {{{1.9, 0.0}, {0.8, 1.2}, 3.6}, {{-2.0, 0.0}, {0.8, 1.2}, 3.6}};
    return tooth;
}

ToothDesign upper_molar_design() {
    ToothDesign tooth;
    tooth.kind = "upper-molar";
    tooth.fdi = "26";
    tooth.crown.outline = {{0.0, 4.0, 4.4}, {1.8, 4.8, 5.2}, {3.4, 5.1, 5.6},  {5.2, 4.7, 5.4},
                           {6.6, 4.2, 5.1}, {8.6, 3.8, 4.7}, {11.2, 3.0, 3.6}, {12.5, 2.7, 3.2}};
    tooth.crown.fossa_z_mm = 2.2;
    tooth.crown.cusps = {{{2.3, 2.9}, 2.45, 1.2},
                         {{-2.2, 2.8}, 1.8, 1.2},
                         {{2.0, -2.8}, 2.0, 1.4},
                         {{-2.3, -2.6}, 1.4, 1.1}};
    tooth.crown.cej_z_mm = 6.3;
    tooth.crown.enamel_mm = 2.0;
    tooth.crown.trunk_end_z_mm = 11.1;
    tooth.chamber.centre_mm = {0.1, -0.25, 7.15};
    tooth.chamber.half_mm = {2.6, 3.5, 0.9};
    tooth.chamber.horns = {{{1.6, 2.0, 6.8}, {2.0, 2.4, 4.8}, 0.45},
                           {{-1.4, 1.8, 6.8}, {-1.8, 2.3, 5.4}, 0.45},
                           {{1.0, -2.3, 6.8}, {1.5, -2.6, 5.2}, 0.5}};
    CanalDesign mb;
    mb.name = "MB";
    mb.orifice_mm = {2.0, 2.4};
    mb.start_tilt_deg = {12, 6};
    mb.course_mm = 11.5;
    mb.bends = {{0.40, 12, 270, 5.0}, {0.55, 34, 180, 6.5}};
    mb.widths = widths({1, .22, .30}, {2, .27, .37}, {5, .32, .46}, {13, .65, .85});
    mb.foramen_offset_mm = 0.82;
    mb.foramen_toward_deg = 170;

    CanalDesign mb2;
    mb2.name = "MB2";
    mb2.orifice_mm = {2.13, 0.50};  // 1.91 mm from MB and 4.11 mm from P
    mb2.widths = widths({1, .16, .19}, {2, .16, .31}, {5, .16, .38}, {13, .30, .45});
    mb2.long_axis_deg = 100;
    mb2.joins = "MB";
    mb2.join_from_foramen_mm = 3.0;

    CanalDesign db;
    db.name = "DB";
    db.orifice_mm = {-1.75, 2.0};
    db.start_tilt_deg = {-12, 5};
    db.course_mm = 11.0;
    db.bends = {{0.60, 18, 0, 5.0}};
    db.widths = widths({1, .17, .22}, {2, .25, .33}, {5, .31, .49}, {13, .65, .8});
    db.foramen_offset_mm = 0.81;
    db.foramen_toward_deg = 60;

    CanalDesign p;
    p.name = "P";
    p.orifice_mm = {-0.2, -2.85};
    p.start_tilt_deg = {2, -20};
    p.course_mm = 12.2;
    p.bends = {{0.65, 26, 90, 6.0}};
    p.widths = widths({1, .29, .33}, {2, .40, .42}, {5, .55, .74}, {13, 1.1, 1.5});
    p.long_axis_deg = 0;  // mesiodistal, as palatal canals are
    p.foramen_offset_mm = 1.0;
    p.foramen_toward_deg = 80;
    tooth.canals = {mb, mb2, db, p};

    const RootDesign mb_root{"MB", 1.7, 1.3, 2.2, 1.8, 0.85, {0.08, 0.25}, 1.0, 2.5};
    const RootDesign mb2_root{"MB2", 1.5, 1.15, 1.9, 1.5, 0.9, {0.0, -0.25}, 0.82, 2.5};
    const RootDesign db_root{"DB", 1.6, 1.25, 1.9, 1.5, 0.8, {-0.05, 0.1}, 1.0, 2.5};
    const RootDesign p_root{"P", 2.4, 1.75, 1.9, 1.5, 0.95, {0.0, -0.1}, 1.0, 2.5};
    tooth.roots = {mb_root, mb2_root, db_root, p_root};
    tooth.fillings = {{{1.9, 0.2}, {0.8, 1.5}, 3.6}, {{-2.0, 0.1}, {0.8, 1.4}, 3.6}};
    return tooth;
}

ToothDesign narrowed_design() {
    ToothDesign tooth = lower_molar_design();
    tooth.kind = "narrowed";
    tooth.fdi = "46";
    tooth.chamber.centre_mm = {0.1, 0, 7.55};
    tooth.chamber.half_mm = {2.0, 1.35, 0.38};
    tooth.chamber.horns = {{{1.5, 0.8, 7.4}, {1.8, 1.1, 6.5}, 0.2},
                           {{1.5, -0.8, 7.4}, {1.8, -1.1, 6.6}, 0.2}};
    for (CanalDesign& canal : tooth.canals) {
        canal.widths = widths({1, .12, .15}, {2, .13, .16}, {5, .15, .20}, {13, .21, .25});
    }
    CanalDesign& mb = tooth.canals[0];
    CanalDesign& ml = tooth.canals[1];
    CanalDesign& d = tooth.canals[2];
    mb.orifice_mm = {1.65, 0.95};
    ml.orifice_mm = {1.6, -0.95};
    d.orifice_mm = {-1.45, 0};
    mb.start_tilt_deg = {12, 5};
    ml.start_tilt_deg = {11, -5};
    mb.bends = {{0.45, 28, 180, 6.5}, {0.40, 12, 270, 5.0}};
    ml.bends = {{0.48, 24, 180, 6.5}, {0.41, 11, 90, 5.0}};
    d.widths = widths({1, .15, .18}, {2, .16, .20}, {5, .19, .25}, {13, .23, .30});
    return tooth;
}

}  // namespace anfract
