#include "isthmus_range.h"

#include <algorithm>

#include "isthmus.h"

namespace anfract::tracing {
namespace {

constexpr double slab_mm = 0.4;
constexpr double head_mm = 1.5;   ///< of either canal, that the chamber's blur reaches
constexpr double level_mm = 0.2;  ///< of the other one's section, off the plane
constexpr double furthest_mm = 3.5;
constexpr double least_range_mm = 0.8, longest_gap_mm = 0.3;

/// Where another canal crosses a section's plane; null where it does not come near.
const FittedSection* crossing(const Station& station, const FittedCanal& other) {
    const FittedSection* best = nullptr;
    double least_mm = level_mm;
    for (const FittedSection& there : other.sections) {
        const Vec3 offset = there.station.point_P - station.point_P;
        const double level = std::abs(offset.dot(station.tangent_P));
        if (level >= least_mm || offset.norm() > furthest_mm) continue;
        least_mm = level;
        best = &there;
    }
    return best;
}

/// The sheet's thickness between a section and another canal, 0 for none.
double thickness_mm(const Site& site, const SectionSetting& setting, const Station& station,
                    const FittedCanal& other) {
    const FittedSection* there = crossing(station, other);
    if (there == nullptr || there->station.s_mm < head_mm) return 0;
    const Vec3 offset = there->station.point_P - station.point_P;
    const Vec2 at(offset.dot(station.n1_P), offset.dot(station.n2_P));
    const std::optional<double> view_mm = isthmus_view_mm(at.norm());
    if (!view_mm) return 0;
    const SectionImage image =
        sample_section(site.brick, station, *view_mm, slab_mm, [](const Vec3&) { return 1.0; });
    return find_isthmus(image, setting, at).thickness_mm;
}

/// Adds what is seen from one canal toward another.
void add_between(const Site& site, const std::vector<TracedCanal>& canals, std::size_t first,
                 std::size_t second, std::vector<IsthmusRange>& ranges) {
    const SectionSetting setting = section_setting(site.brick, site.levels, slab_mm);
    IsthmusRange range;
    double from_mm = 0, to_mm = 0, sum_mm = 0;
    int seen = 0;
    const auto close = [&] {
        if (seen > 0 && to_mm - from_mm >= least_range_mm) {
            range.first = first;
            range.second = second;
            range.thickness_mm = sum_mm / seen;
            ranges.push_back(range);
        }
        seen = 0;
        sum_mm = 0;
    };
    for (const FittedSection& section : canals[first].fit.sections) {
        const Station& station = section.station;
        if (station.s_mm < head_mm) continue;
        const double thick = thickness_mm(site, setting, station, canals[second].fit);
        if (thick <= 0) continue;
        if (seen > 0 && station.s_mm - to_mm > longest_gap_mm + station_spacing_mm) close();
        if (seen == 0) {
            range.from_P = station.point_P;
            from_mm = station.s_mm;
        }
        range.to_P = station.point_P;
        to_mm = station.s_mm;
        sum_mm += thick;
        ++seen;
    }
    close();
}

}  // namespace

std::vector<IsthmusRange> isthmus_ranges(const Site& site, const std::vector<TracedCanal>& canals) {
    std::vector<IsthmusRange> ranges;
    for (std::size_t first = 0; first < canals.size(); ++first) {
        for (std::size_t second = first + 1; second < canals.size(); ++second)
            add_between(site, canals, first, second, ranges);
    }
    return ranges;
}

}  // namespace anfract::tracing
