#include "anfract/shaping/remove.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace anfract {
namespace {

/// The passage's profile at one depth, in the plane of a station.
struct Held {
    Vec2 offset_mm{0, 0};
    Vec2 toward{0, 0};
    double contact_N_per_mm = 0;
};

/// Interpolates a profile at rising depths.
class ProfileReader {
  public:
    explicit ProfileReader(const PassageProfile& profile) : profile_(profile) {}

    Held at(const Lumen& lumen, int station) const {
        const std::vector<double>& depths = profile_.depth_mm;
        if (depths.empty()) return {};
        const double depth = lumen.depth_mm[std::size_t(station)];
        const auto above = std::lower_bound(depths.begin(), depths.end(), depth);
        const std::size_t hi =
            std::min<std::size_t>(std::size_t(above - depths.begin()), depths.size() - 1);
        const std::size_t lo = hi == 0 ? 0 : hi - 1;
        const double gap = depths[hi] - depths[lo];
        const double t = gap > 0 ? std::clamp((depth - depths[lo]) / gap, 0.0, 1.0) : 0.0;
        const Vec3 offset = (1 - t) * profile_.offset_P_mm[lo] + t * profile_.offset_P_mm[hi];
        const std::size_t nearest = t < 0.5 ? lo : hi;
        Held held;
        held.offset_mm = in_plane(lumen, station, offset);
        held.contact_N_per_mm =
            (1 - t) * profile_.contact_N_per_mm[lo] + t * profile_.contact_N_per_mm[hi];
        held.toward = in_plane(lumen, station, profile_.contact_toward_P[nearest]);
        return held;
    }

  private:
    static Vec2 in_plane(const Lumen& lumen, int station, const Vec3& v_P) {
        return {v_P.dot(lumen.n1_P[std::size_t(station)]),
                v_P.dot(lumen.n2_P[std::size_t(station)])};
    }

    const PassageProfile& profile_;
};

/// Distance from the centreline to the far edge of a circle, 0 when the ray misses it.
double edge_mm(const Vec2& centre_mm, double radius_mm, const Vec2& direction) {
    const double along = centre_mm.dot(direction);
    const double under = along * along - centre_mm.squaredNorm() + radius_mm * radius_mm;
    return under > 0 ? std::max(0.0, along + std::sqrt(under)) : 0.0;
}

}  // namespace

Lumen after(const Lumen& lumen, const Device& device, const Passage& passage,
            const RemovalOptions& options) {
    Lumen shaped = lumen;
    if (!device.cuts()) return shaped;
    const ProfileReader profile(passage.profile);
    for (int i = 0; i < lumen.station_count(); ++i) {
        const double from_tip = passage.reaches_mm - lumen.depth_mm[std::size_t(i)];
        // Only the working part has edges; the shaft above it slides.
        if (from_tip < 0 || from_tip > device.working_part_mm) continue;
        const Held held = profile.at(lumen, i);
        const double radius = device.diameter_mm_at(from_tip) / 2;
        for (int j = 0; j < lumen.theta_count(); ++j) {
            const double theta = 2 * std::numbers::pi * j / lumen.theta_count();
            const Vec2 direction(std::cos(theta), std::sin(theta));
            // A contact wears where it presses, fading as the cosine round the section.
            const double worn = options.wear_mm_per_N_per_mm * options.passes *
                                held.contact_N_per_mm * std::max(0.0, held.toward.dot(direction));
            const double before = lumen.radius_mm(i, j);
            const double now = std::max(before, edge_mm(held.offset_mm, radius, direction)) + worn;
            shaped.radius_mm(i, j) = now;
            shaped.wall_mm(i, j) = std::max(0.0, lumen.wall_mm(i, j) - (now - before));
            // std::max drops a NaN, and a wall that is not known stays not known.
            if (std::isnan(lumen.wall_mm(i, j))) shaped.wall_mm(i, j) = lumen.wall_mm(i, j);
        }
    }
    return shaped;
}

}  // namespace anfract
