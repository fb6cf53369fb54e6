#include "station.h"

#include <algorithm>
#include <cmath>

#include "anfract/geometry/moving_frame.h"

namespace anfract::tracing {

std::vector<Station> stations_along(const Polyline& line, double spacing_mm,
                                    double tangent_reach_mm) {
    const double length = line.length_mm();
    const int steps = std::max(1, static_cast<int>(std::ceil(length / spacing_mm - 1e-9)));
    std::vector<Station> stations(std::size_t(steps) + 1);
    std::vector<Vec3> points;
    std::vector<Vec3> tangents;
    for (int n = 0; n <= steps; ++n) {
        Station& station = stations[std::size_t(n)];
        station.s_mm = length * n / steps;
        station.point_P = line.at(station.s_mm);
        const Vec3 chord = line.at(std::min(length, station.s_mm + tangent_reach_mm)) -
                           line.at(std::max(0.0, station.s_mm - tangent_reach_mm));
        points.push_back(station.point_P);
        tangents.push_back(chord.normalized());
    }
    const std::vector<MovingFrame> frames = rotation_minimising_frames(points, tangents);
    for (std::size_t n = 0; n < stations.size(); ++n) {
        stations[n].tangent_P = frames[n].tangent;
        stations[n].n1_P = frames[n].n1;
        stations[n].n2_P = frames[n].n2;
    }
    return stations;
}

}  // namespace anfract::tracing
