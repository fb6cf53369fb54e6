#include "random_tooth.h"

#include <algorithm>
#include <cmath>

#include "anfract/tooth/tooth_number.h"
#include "tooth_solid.h"

namespace anfract {

namespace {

constexpr std::uint64_t draw_stream = 100;
constexpr double shares_calcified = 0.15, shares_open = 0.03;  // common practice, no source

/// Whether one runs into the other or comes out of it, or both do with a third.
bool are_kin(const CanalDesign& canal, const CanalDesign& other) {
    const auto parent = [](const CanalDesign& c) { return c.joins.empty() ? c.leaves : c.joins; };
    return parent(canal) == other.name || parent(other) == canal.name ||
           (!parent(canal).empty() && parent(canal) == parent(other));
}

/// Canals that have nothing to do with one another stay apart, and all stay inside their root until
/// near the foramen.
bool possible(const ToothSolid& solid) {
    constexpr double apart_mm = 0.35, wall_mm = 0.35, end_mm = 1.5, step_mm = 0.25;
    const auto stride = static_cast<std::size_t>(step_mm / course_step_mm);
    const auto end = static_cast<std::size_t>(end_mm / course_step_mm);
    const auto& canals = solid.canals();
    const auto& designs = solid.design().canals;
    for (std::size_t n = 0; n < canals.size(); ++n) {
        const auto& stations = canals[n].tube.stations();
        if (canals[n].foramen_station + 1 >= stations.size()) return false;
        if (canals[n].foramen_station < canals[n].orifice_station + 60) return false;
        for (std::size_t i = canals[n].orifice_station; i + end < canals[n].foramen_station;
             i += stride) {
            const double reach = std::max(stations[i].first_half_mm, stations[i].second_half_mm);
            if (solid.outer_mm(stations[i].centre) > -reach - wall_mm) return false;
            for (std::size_t m = 0; m < n; ++m) {
                const bool kin = are_kin(designs[n], designs[m]);
                const double distance = canals[m].tube.distance_mm(stations[i].centre);
                // Just below the floor two wide orifices may touch.
                const bool high = i < canals[n].orifice_station + 30;
                if (!kin && !high && distance < reach + apart_mm) return false;
            }
        }
    }
    return true;
}

/// Decay beside the neck and what metal there would be; shares are common practice, no source.
void add_damage(ToothDesign& tooth, Random& random) {
    const CrownDesign& crown = tooth.crown;
    if (random.uniform() < 0.15) {
        double half_md = 0;
        for (const OutlineDesign& o : crown.outline) half_md = std::max(half_md, o.half_md_mm);
        const double side = random.uniform() < 0.5 ? -1 : 1;
        tooth.decay.push_back({{side * 0.92 * half_md, random.uniform(-1, 1),
                                crown.cej_z_mm * random.uniform(0.6, 0.95)},
                               random.uniform(0.5, 1.4)});
    }
    tooth.metal_crown = random.uniform() < 0.25;
    if (random.uniform() < 0.2) tooth.overhang_mm = random.uniform(0.3, 0.8);
}

ToothDesign draw_once(const ToothNumber& number, Random& random) {
    ToothDraw draw;
    draw.upper = number.upper();
    draw.place = number.place;
    draw.anatomy = &anatomy_of(draw.upper, draw.place);
    draw.length_mm = random.around(draw.anatomy->length_mm, draw.anatomy->length_sd_mm);
    draw.wider = std::exp(random.around(0, 0.18));
    const double p = random.uniform();
    draw.calcified = p < shares_calcified;
    draw.open_apex = p > 1 - shares_open;
    if (draw.calcified) draw.wider *= random.uniform(0.5, 0.85);
    ToothDesign tooth = random_form(draw, random);
    tooth.fdi = number.fdi();
    for (const RootAnatomy& root : draw.anatomy->roots) add_root(draw, root, random, tooth);
    add_damage(tooth, random);
    return tooth;
}

}  // namespace

Result<ToothDesign> random_tooth(const std::string& fdi, std::uint64_t seed) {
    Random random(seed, draw_stream);
    ToothNumber number{int(random.bits() % 4) + 1, int(random.bits() % 8) + 1};
    if (!fdi.empty()) {
        const Result<ToothNumber> wanted = tooth_number_from_fdi(fdi);
        if (!wanted) return tl::unexpected(wanted.error());
        number = *wanted;
    }
    if (number.primary()) {
        return fail(ErrorCode::BadInput, "no distribution is known of primary tooth " + fdi,
                    "phantom", "give a permanent tooth, 11 to 48");
    }
    ToothDesign tooth = draw_once(number, random);
    constexpr int tries = 60;
    for (int i = 0; i < tries && !possible(ToothSolid(tooth)); ++i) {
        tooth = draw_once(number, random);
    }
    return tooth;
}

}  // namespace anfract
