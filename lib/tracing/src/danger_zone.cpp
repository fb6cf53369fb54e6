#include "danger_zone.h"

#include <Eigen/Geometry>
#include <cmath>
#include <numbers>

#include "anfract/tooth/tooth_number.h"

namespace anfract::tracing {
namespace {

constexpr double to_foramen_mm = 2;  ///< nearer the wall thins out to nothing, which is no finding
constexpr double sector_cosine = 0.5;
constexpr double chord_deg = 30;

Vec3 tangent_at(const Canal& canal, std::size_t n) {
    const std::size_t last = canal.samples.size() - 1;
    return (canal.samples[std::min(n + 1, last)].point_P -
            canal.samples[n == 0 ? 0 : n - 1].point_P)
        .normalized();
}

/// Distance of the root's surface from the centreline, `theta` counted as in the wall sheet.
double surface_mm(const CanalSample& sample, double wall_mm, double theta) {
    const double a = sample.diameter_long_mm / 2, b = sample.diameter_short_mm / 2;
    const double turn = theta - sample.long_axis_deg * std::numbers::pi / 180;
    const double across = std::hypot(b * std::cos(turn), a * std::sin(turn));
    return wall_mm + (across > 0 ? a * b / across : 0);
}

/// How far the surface lies inside the chord between the places 30 degrees to either side.
double hollow_mm(const CanalSample& sample, const std::vector<double>& wall, std::size_t t) {
    const auto count = wall.size();
    const double step = 2 * std::numbers::pi / double(count);
    const auto aside = std::size_t(std::lround(chord_deg * std::numbers::pi / 180 / step));
    const auto place = [&](std::size_t k) {
        const double theta = step * double(k);
        const double r = surface_mm(sample, wall[k % count], theta);
        return Vec2(r * std::cos(theta), r * std::sin(theta));
    };
    const Vec2 here = place(t), one = place(t + count - aside), other = place(t + aside);
    const Vec2 chord = (other - one).normalized();
    const Vec2 outward(chord.y(), -chord.x());
    return std::max(outward.dot(one - here), 0.0);
}

}  // namespace

bool in_danger_root(const std::string& fdi, const std::string& canal) {
    const Result<ToothNumber> number = tooth_number_from_fdi(fdi);
    if (!number || !number->molar() || canal.empty() || canal[0] != 'M') return false;
    return !number->upper() || canal.rfind("MB", 0) == 0;
}

std::optional<DangerZone> danger_zone(const Canal& canal, const ClinicalFrame& frame) {
    if (!canal.wall_sheet || !frame.known || canal.samples.size() < 2) return {};
    const WallSheet& sheet = *canal.wall_sheet;
    std::optional<DangerZone> zone;
    for (std::size_t n = 0; n < canal.samples.size() && n < sheet.wall_mm.size(); ++n) {
        const CanalSample& sample = canal.samples[n];
        if (sample.depth_mm > canal.depth_to_foramen_mm - to_foramen_mm) break;
        const Vec3 zero = sheet.first_direction[n];
        const Vec3 quarter = tangent_at(canal, n).cross(zero);
        const std::vector<double>& wall = sheet.wall_mm[n];
        for (std::size_t t = 0; t < wall.size(); ++t) {
            const double theta = 2 * std::numbers::pi * double(t) / double(wall.size());
            const Vec3 direction = std::cos(theta) * zero + std::sin(theta) * quarter;
            if (direction.dot(-frame.mesial) < sector_cosine) continue;
            if (zone && zone->wall_mm <= wall[t]) continue;
            zone = DangerZone{wall[t], sample.depth_mm,
                              sample.depth_mm - canal.samples.front().depth_mm,
                              hollow_mm(sample, wall, t)};
        }
    }
    return zone;
}

}  // namespace anfract::tracing
