#include <algorithm>
#include <cmath>

#include "canal_fit.h"
#include "ridge.h"

namespace anfract::tracing {
namespace {

/// Gaussian smoothing along a chain with both ends held.
std::vector<Vec3> relaxed(const std::vector<Vec3>& points, double sd_points) {
    const int last = static_cast<int>(points.size()) - 1;
    std::vector<Vec3> result(points.size());
    for (int i = 0; i <= last; ++i) {
        const int reach = std::min({static_cast<int>(3 * sd_points), i, last - i});
        Vec3 sum{0, 0, 0};
        double weights = 0;
        for (int k = -reach; k <= reach; ++k) {
            const double w = std::exp(-k * k / (2 * sd_points * sd_points));
            sum += w * points[std::size_t(i + k)];
            weights += w;
        }
        result[std::size_t(i)] = sum / weights;
    }
    return result;
}

}  // namespace

Polyline smooth_line(const std::vector<std::size_t>& voxels, const GridGeometry& geometry) {
    std::vector<Vec3> points;
    for (const std::size_t n : voxels) points.push_back(voxel_P(geometry, n));
    const double step = 0.1;
    const Polyline even = Polyline(points).resampled(step);
    return Polyline(relaxed(even.points(), 0.4 / step));
}

const FittedSection& nearest_section(const std::vector<FittedSection>& sections,
                                     const Vec3& point_P) {
    return *std::min_element(sections.begin(), sections.end(),
                             [&](const FittedSection& a, const FittedSection& b) {
                                 return (a.station.point_P - point_P).squaredNorm() <
                                        (b.station.point_P - point_P).squaredNorm();
                             });
}

FittedCanal unfitted(const Polyline& line) {
    FittedCanal canal;
    for (const Station& station : stations_along(line, station_spacing_mm)) {
        FittedSection section;
        section.station = station;
        section.diameter_mm = guessed_width_mm;
        canal.sections.push_back(section);
    }
    return canal;
}

void leave_chamber(const Vec3& coronal_P, FittedCanal& canal) {
    constexpr double least_width_mm = 1.2, times_the_usual = 2.5, least_downward = 0.35;
    std::vector<FittedSection>& sections = canal.sections;
    std::vector<double> widths;
    for (const FittedSection& section : sections) widths.push_back(section.diameter_mm);
    const auto middle = widths.begin() + std::ptrdiff_t(widths.size() / 2);
    std::nth_element(widths.begin(), middle, widths.end());
    const double wide_mm = std::max(least_width_mm, times_the_usual * *middle);
    std::size_t first = 0;
    for (std::size_t n = 0; n < sections.size() / 2; ++n) {
        const bool across = -sections[n].station.tangent_P.dot(coronal_P) < least_downward;
        if (across && sections[n].diameter_mm > wide_mm) first = n + 1;
    }
    sections.erase(sections.begin(), sections.begin() + std::ptrdiff_t(first));
    const double cut_mm = sections.front().station.s_mm;
    for (FittedSection& section : sections) section.station.s_mm -= cut_mm;
}

FittedCanal reversed(const FittedCanal& canal) {
    FittedCanal result = canal;
    std::reverse(result.sections.begin(), result.sections.end());
    const double length = canal.sections.back().station.s_mm;
    for (FittedSection& section : result.sections) {
        Station& s = section.station;
        s.s_mm = length - s.s_mm;
        s.tangent_P = -s.tangent_P;
        s.n2_P = -s.n2_P;  // keeps the frame right-handed
        section.long_axis_rad = -section.long_axis_rad;
    }
    return result;
}

Polyline line_of(const FittedCanal& canal) {
    std::vector<Vec3> points;
    for (const FittedSection& section : canal.sections) points.push_back(section.station.point_P);
    return Polyline(points);
}

}  // namespace anfract::tracing
