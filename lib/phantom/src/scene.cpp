#include "scene.h"

#include <algorithm>
#include <atomic>
#include <cmath>

#include "anfract/base/parallel.h"

namespace anfract {

namespace {

constexpr double ligament_mm = 0.2;
constexpr double lamina_dura_mm = 0.3;
constexpr double cortical_mm = 1.3;
constexpr double gingiva_mm = 1.6;            // over the bone, at the side
constexpr double crest_below_cej_mm = 1.8;    // bone crest apical of the cemento-enamel junction
constexpr double gingiva_above_cej_mm = 1.2;  // gingival margin coronal of it
constexpr double ridge_edge_mm = 2.0;         // rounding of the ridge
constexpr double margin_mm = 2.2;             // of the field of view round the tooth

double mix(double outside, double inside, double share) {
    return outside + share * (inside - outside);
}

double smooth_max(double a, double b, double k) {
    const double h = std::max(k - std::abs(a - b), 0.0) / k;
    return std::max(a, b) + h * h * k * 0.25;
}

}  // namespace

double inner_share(double distance_mm, double voxel_mm) {
    return std::clamp(0.5 - distance_mm / voxel_mm, 0.0, 1.0);
}

Scene::Scene(const ToothSolid& solid, const Pose& pose, const SceneOptions& options)
    : solid_(solid), pose_(pose), options_(options) {}

GridGeometry Scene::frame(double voxel_mm) const {
    Vec3 low = Vec3::Constant(1e9), high = Vec3::Constant(-1e9);
    const auto add = [&](const Vec3& point_T, double reach) {
        const Vec3 p = pose_.to_patient(point_T);
        low = low.cwiseMin(p - Vec3::Constant(reach));
        high = high.cwiseMax(p + Vec3::Constant(reach));
    };
    for (const OutlineDesign& o : solid_.design().crown.outline) {
        for (const int x : {-1, 1}) add({x * o.half_md_mm, 0, o.z_mm}, 0);
        for (const int y : {-1, 1}) add({0, y * o.half_bl_mm, o.z_mm}, 0);
    }
    for (const VaryingTube& root : solid_.roots()) {
        for (const VaryingTube::Station& s : root.stations()) {
            add(s.centre, std::max(s.first_half_mm, s.second_half_mm));
        }
    }
    GridGeometry grid;
    grid.spacing_mm = Vec3::Constant(voxel_mm);
    for (int a = 0; a < 3; ++a) {
        const double extent = high[a] - low[a] + 2 * margin_mm;
        grid.size[static_cast<std::size_t>(a)] = static_cast<int>(std::ceil(extent / voxel_mm));
    }
    grid.origin_P = low - Vec3::Constant(margin_mm);
    return grid;
}

double Scene::metal_mm(const Vec3& p) const {
    constexpr double edge_mm = 0.3;  // rounding of the upright edges
    double nearest = 1e9;
    const double outer = solid_.outer_mm(p);
    const ToothDesign& design = solid_.design();
    if (design.overhang_mm > 0) {
        // A ledge past the margin of a filling, on the mesial side of the neck.
        const Vec3 ledge(solid_.half_md_mm(design.crown.cej_z_mm) + 0.3 * design.overhang_mm, 0,
                         design.crown.cej_z_mm - 0.8);
        const Vec3 half(design.overhang_mm, 1.6, 0.6);
        nearest = ((p - ledge).cwiseQuotient(half).norm() - 1) * half.minCoeff();
    }
    if (design.metal_crown) {
        constexpr double cap_mm = 0.8;
        const double cap = std::max(-outer - cap_mm, p.z() - (design.crown.cej_z_mm - 0.6));
        return std::min(nearest, std::max(cap, outer));
    }
    double filled = 1e9;
    for (const FillingDesign& filling : solid_.design().fillings) {
        const Vec2 from = (Vec2(p.x(), p.y()) - filling.centre_mm).cwiseAbs() - filling.half_mm;
        const double side = (from.array() + edge_mm).max(0.0).matrix().norm() - edge_mm;
        filled = std::min(filled, std::max(side, p.z() - filling.floor_z_mm));
    }
    return std::min(nearest, std::max(filled, outer));
}

double Scene::background(const Vec3& p, double outer, double voxel_mm, double texture) const {
    const CrownDesign& crown = solid_.design().crown;
    const double crest_z = crown.cej_z_mm + crest_below_cej_mm;
    const double margin_z = crown.cej_z_mm - gingiva_above_cej_mm;
    // Where bone is thin, its plate leaves the root bare or nearly so on the buccal side.
    const double plate = options_.thin_bone && p.y() > 0 ? 0.1 : 1.3;
    const double half_width =
        solid_.half_bl_mm(crown.cej_z_mm) + plate + 0.16 * std::max(p.z() - crest_z, 0.0);
    const double side = std::abs(p.y()) - half_width;
    const double gum = smooth_max(side - gingiva_mm, margin_z - p.z(), ridge_edge_mm);
    const double gum_share = inner_share(gum, voxel_mm);
    double grey = mix(greys_.air, greys_.soft, gum_share);

    const double bone = smooth_max(side, crest_z - p.z(), ridge_edge_mm);
    const double bone_share = inner_share(bone, voxel_mm);
    if (bone_share > 0) {
        const double spongy =
            std::clamp(greys_.cancellous + greys_.cancellous_sd * texture, 0.0, 1300.0);
        grey = mix(grey, greys_.cortical + 60 * texture, bone_share);
        grey = mix(grey, spongy, inner_share(bone + cortical_mm, voxel_mm));
        grey = mix(grey, greys_.lamina_dura,
                   bone_share * inner_share(outer - ligament_mm - lamina_dura_mm, voxel_mm));
    }
    return mix(grey, greys_.ligament, gum_share * inner_share(outer - ligament_mm, voxel_mm));
}

double Scene::pulp_share(const Vec3& p, double voxel_mm) const {
    // Distances of thin ellipses are only right to first order, hence the wide shell that is looked
    // at closely.
    const double reach = 1.6 * voxel_mm;
    const double chamber = solid_.chamber_mm(p);
    if (chamber < -reach) return 1;
    std::vector<const Isthmus*> sheets;
    for (const Isthmus& sheet : solid_.isthmuses()) {
        if (sheet.distance_mm(p) < reach) sheets.push_back(&sheet);
    }
    const bool near_chamber = chamber < reach;
    std::vector<const VaryingTube*> near;
    for (const CanalSolid& canal : solid_.canals()) {
        const double d = canal.tube.distance_mm(p);
        if (d < -reach) return 1;
        if (d < reach) near.push_back(&canal.tube);
    }
    if (near.empty() && sheets.empty() && !near_chamber) return 0;
    return fine_share(p, pose_.linear.transpose(), voxel_mm, [&](const Vec3& q) {
        double d = near_chamber ? solid_.chamber_mm(q) : 1e9;
        for (const VaryingTube* tube : near) d = std::min(d, tube->distance_mm(q));
        for (const Isthmus* sheet : sheets) d = std::min(d, sheet->distance_mm(q));
        return d;
    });
}

double Scene::with_neighbour(const Vec3& p, double voxel_mm, double grey) const {
    // The same tooth once more on either side, its crown nearly touching; its pulp is left out.
    const CrownDesign& crown = solid_.design().crown;
    double widest = 0;
    for (const OutlineDesign& o : crown.outline) widest = std::max(widest, o.half_md_mm);
    const double apart = 2 * widest + options_.neighbour_gap_mm;
    const Vec3 q(p.x() - (p.x() > 0 ? apart : -apart), p.y(), p.z());
    const double outer = solid_.outer_mm(q);
    const double share = inner_share(outer, voxel_mm);
    if (share <= 0) return grey;
    grey = mix(grey, greys_.enamel, share);
    const double enamel = solid_.enamel_thickness_mm(q);
    const double dentine = enamel > 0 ? inner_share(outer + enamel, voxel_mm) : share;
    return grey + dentine * (greys_.dentine - greys_.enamel);
}

double Scene::grey_at(const Vec3& p, double voxel_mm, double texture, float* metal) const {
    const double outer = solid_.outer_mm(p);
    const double tooth_share = inner_share(outer, voxel_mm);
    double grey = tooth_share < 1 ? background(p, outer, voxel_mm, texture) : 0.0;
    if (tooth_share < 1 && options_.neighbours) grey = with_neighbour(p, voxel_mm, grey);
    if (tooth_share > 0) {
        const double enamel = solid_.enamel_thickness_mm(p);
        const double dentine_share =
            enamel > 0 ? inner_share(outer + enamel, voxel_mm) : tooth_share;
        grey = mix(grey, greys_.enamel, tooth_share);
        if (dentine_share > 0) grey += dentine_share * (greys_.dentine - greys_.enamel);
        for (const DecayDesign& decay : solid_.design().decay) {
            const double ball = (p - decay.centre_mm).norm() - decay.radius_mm;
            grey = mix(grey, greys_.decayed, tooth_share * inner_share(ball, voxel_mm));
        }
    }
    if (options_.metal_grey) {
        const double share = inner_share(metal_mm(p), voxel_mm);
        grey = mix(grey, *options_.metal_grey, share);
        *metal = static_cast<float>(share);
    }
    // Canals run on through the ligament, so the pulp is asked for a little outside the tooth, too.
    if (outer < 0.3) {
        const double pulp = pulp_share(p, voxel_mm);
        if (pulp > 0) grey = mix(grey, greys_.pulp, pulp);
    }
    return grey;
}

Result<Rendering> Scene::render(const GridGeometry& geometry, const std::vector<float>& texture,
                                unsigned threads, const Progress& progress) const {
    Rendering rendering;
    Brick& brick = rendering.grey;
    brick = {geometry, std::vector<float>(geometry.voxel_count())};
    if (options_.metal_grey) rendering.metal_share.assign(geometry.voxel_count(), 0.0F);
    const double voxel_mm = geometry.spacing_mm.x();
    const auto slices = static_cast<std::size_t>(geometry.size[2]);
    std::atomic<std::size_t> done{0};
    parallel_for(slices, threads, [&](std::size_t begin, std::size_t end) {
        for (std::size_t k = begin; k < end && !progress.cancelled(); ++k) {
            for (int j = 0; j < geometry.size[1]; ++j) {
                for (int i = 0; i < geometry.size[0]; ++i) {
                    const Vec3 p =
                        pose_.to_tooth(geometry.to_patient(Vec3(i, j, static_cast<double>(k))));
                    const std::size_t at = geometry.index(i, j, static_cast<int>(k));
                    const double t = texture.empty() ? 0.0 : static_cast<double>(texture[at]);
                    float* const metal = options_.metal_grey ? &rendering.metal_share[at] : nullptr;
                    brick.grey[at] = static_cast<float>(grey_at(p, voxel_mm, t, metal));
                }
            }
            const std::size_t count = ++done;
            progress.report(0.1 + 0.6 * static_cast<double>(count) / static_cast<double>(slices),
                            "imaging the tooth");
        }
    });
    if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped");
    return rendering;
}

}  // namespace anfract
