// Crowns and chambers of drawn teeth: the hand-made designs of a molar, a premolar and an incisor,
// stretched to the drawn size. Proportions are common practice, no source.

#include <algorithm>

#include "random_tooth.h"
#include "tooth_kinds.h"

namespace anfract {

namespace {

/// Stretches everything of crown, chamber and fillings across the tooth.
void stretch(ToothDesign& tooth, double x, double y) {
    for (OutlineDesign& o : tooth.crown.outline) {
        o.half_md_mm *= x;
        o.half_bl_mm *= y;
    }
    for (CuspDesign& cusp : tooth.crown.cusps) {
        cusp.at_mm = cusp.at_mm.cwiseProduct(Vec2(x, y));
        cusp.width_mm *= std::min(x, y);
    }
    const Vec3 both(x, y, 1);
    tooth.chamber.centre_mm = tooth.chamber.centre_mm.cwiseProduct(both);
    tooth.chamber.half_mm = tooth.chamber.half_mm.cwiseProduct(both);
    for (HornDesign& horn : tooth.chamber.horns) {
        horn.from_mm = horn.from_mm.cwiseProduct(both);
        horn.to_mm = horn.to_mm.cwiseProduct(both);
    }
    for (FillingDesign& filling : tooth.fillings) {
        filling.centre_mm = filling.centre_mm.cwiseProduct(Vec2(x, y));
        filling.half_mm = filling.half_mm.cwiseProduct(Vec2(x, y));
    }
}

/// Moves everything apical of the cemento-enamel junction so that the crown has its drawn height.
void set_crown_height(ToothDesign& tooth, double height_mm) {
    const double factor = height_mm / tooth.crown.cej_z_mm;
    for (OutlineDesign& o : tooth.crown.outline) o.z_mm *= factor;
    tooth.crown.cej_z_mm = height_mm;
    tooth.crown.trunk_end_z_mm *= factor;
    tooth.chamber.centre_mm.z() *= factor;
    for (HornDesign& horn : tooth.chamber.horns) {
        horn.from_mm.z() *= factor;
        horn.to_mm.z() *= factor;
    }
}

void calcify(ChamberDesign& chamber, Random& random) {
    const double floor_z = chamber.centre_mm.z() + chamber.half_mm.z();
    chamber.half_mm.z() *= random.uniform(0.45, 0.75);
    chamber.half_mm.x() *= 0.85;
    chamber.half_mm.y() *= 0.85;
    chamber.centre_mm.z() = floor_z - chamber.half_mm.z();
    chamber.horns.clear();
}

double widest(const ToothDesign& tooth, double OutlineDesign::* half) {
    double most = 0;
    for (const OutlineDesign& o : tooth.crown.outline) most = std::max(most, o.*half);
    return most;
}

}  // namespace

ToothDesign random_form(const ToothDraw& draw, Random& random) {
    ToothDesign tooth = draw.molar() ? (draw.upper ? upper_molar_design() : lower_molar_design())
                        : draw.premolar() ? lower_premolar_design()
                                          : upper_lateral_design();
    tooth.canals.clear();
    tooth.roots.clear();
    const ToothAnatomy& anatomy = *draw.anatomy;
    const double larger = random.around(1, 0.05);
    stretch(tooth, larger * anatomy.half_md_mm / widest(tooth, &OutlineDesign::half_md_mm),
            larger * anatomy.half_bl_mm / widest(tooth, &OutlineDesign::half_bl_mm));
    // Molars keep their heights, which are published themselves [Deutsch2004].
    if (!draw.molar()) set_crown_height(tooth, anatomy.crown_mm * random.around(1, 0.05));
    if (draw.place == 3) tooth.crown.cusps = {{{0, 0}, 2.2, 1.3}};
    if (draw.premolar() && draw.upper) tooth.crown.cusps[1].rise_mm = 2.3;
    if (draw.calcified) calcify(tooth.chamber, random);
    return tooth;
}

}  // namespace anfract
