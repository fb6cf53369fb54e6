#include "tell_apart.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "tube_mixture.h"

namespace anfract::tracing {
namespace {

constexpr double half_mm = 1.3;                        ///< of the section
constexpr double one_lumen_mm = 0.2, beside_mm = 1.5;  ///< between lines
constexpr double level_mm = 0.25;                      ///< of the other one's nearest section
constexpr double furthest_mm = 0.7;                    ///< of a lumen from its line
constexpr double apart_share = 0.8;                    ///< of where the lumens touch

double disc_mm2(double diameter_mm) { return std::numbers::pi / 4 * diameter_mm * diameter_mm; }
double width_mm(double area_mm2) { return std::sqrt(4 / std::numbers::pi * area_mm2); }

/// Within one lumen two tubes part it in halves; nearer than the blur is wide noise does.
bool are_two(const BlurredTube& a, const BlurredTube& b, double sigma_psf_mm) {
    const double touching_mm = (width_mm(a.area_mm2) + width_mm(b.area_mm2)) / 2;
    return (a.centre_mm - b.centre_mm).norm() >=
           std::max(apart_share * touching_mm, 3 * sigma_psf_mm);
}

}  // namespace

void tell_apart(const Brick& brick, const SectionSetting& setting, const Share& inside,
                const OwnLumen& own, std::vector<FittedSection>& others) {
    const Station section = own.station;
    std::vector<BlurredTube> tubes{{Vec2(0, 0), disc_mm2(own.diameter_mm), 0}};
    std::vector<FittedSection*> beside;
    for (FittedSection& other : others) {
        const Vec3 offset = other.station.point_P - section.point_P;
        const Vec2 at(offset.dot(section.n1_P), offset.dot(section.n2_P));
        const bool level = std::abs(offset.dot(section.tangent_P)) < level_mm;
        if (!level || at.norm() < one_lumen_mm || at.norm() > beside_mm) continue;
        tubes.push_back({at, disc_mm2(other.diameter_mm), 0});
        beside.push_back(&other);
    }
    if (beside.empty()) return;
    const SectionImage image = sample_section(brick, section, half_mm, setting.slab_mm, inside);
    std::vector<BlurredTube> found = tubes;
    separate(image, setting, found);
    for (std::size_t k = 0; k < tubes.size(); ++k) {
        if ((found[k].centre_mm - tubes[k].centre_mm).norm() > furthest_mm) return;
        if (k > 0 && !are_two(found[0], found[k], setting.sigma_psf_mm)) return;
    }
    own.station.point_P = section.at(found[0].centre_mm.x(), found[0].centre_mm.y());
    for (std::size_t k = 0; k < beside.size(); ++k) {
        const Vec2 at = found[k + 1].centre_mm;
        beside[k]->station.point_P = section.at(at.x(), at.y());
        beside[k]->diameter_mm = width_mm(found[k + 1].area_mm2);
    }
}

}  // namespace anfract::tracing
