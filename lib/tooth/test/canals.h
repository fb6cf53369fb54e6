#pragma once

#include <cmath>
#include <numbers>
#include <vector>

#include "anfract/geometry/vec.h"
#include "anfract/tooth/tooth.h"

namespace anfract {

/// A piece of a flat curve: straight when the angle is 0, else an arc; positive angles bend toward
/// +first axis.
struct Piece {
    double length_mm;
    double degrees = 0;
};

inline Piece arc(double radius_mm, double degrees) {
    return {radius_mm * std::abs(degrees) * std::numbers::pi / 180, degrees};
}

/// Exact points along pieces joined smoothly, starting at the origin along +z, in the x-z plane.
inline std::vector<Vec3> flat_curve(const std::vector<Piece>& pieces, double spacing_mm) {
    double total = 0;
    for (const Piece& piece : pieces) total += piece.length_mm;
    const int steps = static_cast<int>(std::ceil(total / spacing_mm - 1e-9));
    std::vector<Vec3> points;
    for (int i = 0; i <= steps; ++i) {
        double left = total * i / steps;
        Vec3 at(0, 0, 0);
        double heading = 0;
        for (const Piece& piece : pieces) {
            const double s = std::min(left, piece.length_mm);
            const double turn = piece.degrees * std::numbers::pi / 180;
            if (turn == 0) {
                at += s * Vec3(std::sin(heading), 0, std::cos(heading));
            } else {
                const double k = turn / piece.length_mm, after = heading + k * s;
                at += Vec3(std::cos(heading) - std::cos(after), 0,
                           std::sin(after) - std::sin(heading)) /
                      k;
            }
            heading += turn * s / piece.length_mm;
            left -= s;
        }
        points.push_back(at);
    }
    return points;
}

/// A canal through the points with a round taper, depths from the first point on.
inline Canal canal_through(const std::vector<Vec3>& points, const std::string& name = "MB") {
    Canal canal;
    canal.name = name;
    canal.orifice_P = points.front();
    canal.foramen_P = points.back();
    double depth = 0;
    for (std::size_t i = 0; i < points.size(); ++i) {
        if (i > 0) depth += (points[i] - points[i - 1]).norm();
        CanalSample sample;
        sample.depth_mm = depth;
        sample.point_P = points[i];
        canal.samples.push_back(sample);
    }
    for (CanalSample& s : canal.samples) {
        s.diameter_mm = s.diameter_short_mm = s.diameter_long_mm =
            0.3 + 0.04 * (depth - s.depth_mm);
    }
    canal.length_mm = canal.depth_to_foramen_mm = depth;
    return canal;
}

}  // namespace anfract
