#include "anfract/tooth/sampled_line.h"

namespace anfract {

Polyline sampled_line(const Canal& canal) {
    std::vector<Vec3> points;
    points.reserve(canal.samples.size());
    for (const CanalSample& sample : canal.samples) points.push_back(sample.point_P);
    return Polyline(points);
}

}  // namespace anfract
