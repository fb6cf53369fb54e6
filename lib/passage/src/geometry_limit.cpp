#include "geometry_limit.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace anfract {
namespace {

/// Distance from the tip up to which the device is nowhere wider than `diameter_mm`; -1 if it is at
/// its tip.
class WidthInverse {
  public:
    explicit WidthInverse(const Beam& beam) : beam_(beam) {
        const double length = beam.device().length_mm;
        const int steps = std::max(1, static_cast<int>(std::ceil(length / step_mm)));
        double widest = 0;
        for (int i = 0; i <= steps; ++i) {
            widest = std::max(widest, 2 * beam.radius_mm(length * i / steps));
            widest_mm_.push_back(widest);
        }
        length_mm_ = length;
    }

    double operator()(double diameter_mm) const {
        const auto above = std::upper_bound(widest_mm_.begin(), widest_mm_.end(), diameter_mm);
        if (above == widest_mm_.begin()) return -1;
        if (above == widest_mm_.end()) return std::numeric_limits<double>::infinity();
        const double step = length_mm_ / static_cast<double>(widest_mm_.size() - 1);
        const double t = (diameter_mm - *(above - 1)) / (*above - *(above - 1));
        return step * (static_cast<double>(above - widest_mm_.begin() - 1) + t);
    }

  private:
    static constexpr double step_mm = 0.05;
    const Beam& beam_;
    double length_mm_ = 0;
    std::vector<double> widest_mm_;
};

}  // namespace

GeometryLimit geometry_limit(const Guide& guide, const Beam& beam, double cut_allowance_mm,
                             double stop_room_mm) {
    GeometryLimit limit{guide.foramen_mm(), StoppedBy::Foramen, guide.foramen_mm(), 0, 0};
    const double longest = beam.device().length_mm - stop_room_mm;
    if (longest < limit.depth_mm) {
        limit = {std::max(longest, guide.orifice_mm()), StoppedBy::Length, guide.orifice_mm(), 0,
                 0};
    }
    const WidthInverse widest_up_to(beam);
    const Lumen& lumen = guide.lumen();
    for (int i = 0; i < lumen.station_count(); ++i) {
        const double s = lumen.depth_mm[i];
        if (s > limit.depth_mm) break;
        const double canal = 2 * guide.inradius_mm()[i];
        const double pass = widest_up_to(canal + cut_allowance_mm);
        double depth = s + pass;
        double at = s;
        if (pass < 0) {
            // The tip itself is too wide here; it came to stand between this station and the one
            // before.
            const double before = i > 0 ? 2 * guide.inradius_mm()[i - 1] : canal;
            const double tip = 2 * beam.radius_mm(0) - cut_allowance_mm;
            const double t =
                before > canal ? std::clamp((before - tip) / (before - canal), 0.0, 1.0) : 0.0;
            at = i > 0 ? lumen.depth_mm[i - 1] + t * lumen.spacing_mm() : s;
            depth = at;
        }
        if (depth < limit.depth_mm) {
            limit = {depth, StoppedBy::Width, at, 2 * beam.radius_mm(depth - at),
                     2 * guide.inradius_mm(at)};
        }
        if (pass < 0) break;
    }
    return limit;
}

std::vector<std::pair<double, double>> binding_ranges(const Guide& guide, const Beam& beam,
                                                      double tip_depth_mm, double slack_mm) {
    std::vector<std::pair<double, double>> ranges;
    constexpr double step_mm = 0.05;
    bool inside = false;
    const double length = tip_depth_mm - guide.orifice_mm();
    const int steps = static_cast<int>(std::ceil(length / step_mm));
    for (int i = 0; i <= steps && length > 0; ++i) {
        const double s = guide.orifice_mm() + length * i / steps;
        const bool fills = 2 * (guide.inradius_mm(s) - beam.radius_mm(tip_depth_mm - s)) < slack_mm;
        if (fills && !inside) ranges.emplace_back(s, s);
        if (fills) ranges.back().second = s;
        inside = fills;
    }
    return ranges;
}

}  // namespace anfract
