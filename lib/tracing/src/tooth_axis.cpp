#include "tooth_axis.h"

#include <Eigen/Eigenvalues>

namespace anfract::tracing {
namespace {

/// Calls visit(voxel, point in P) for every voxel.
template <class Visit>
void for_all(const GridGeometry& g, const Visit& visit) {
    std::size_t n = 0;
    for (int k = 0; k < g.size[2]; ++k) {
        for (int j = 0; j < g.size[1]; ++j) {
            const Vec3 row = g.to_patient(Vec3(0, j, k));
            const Vec3 step = g.direction.col(0) * g.spacing_mm.x();
            for (int i = 0; i < g.size[0]; ++i, ++n) visit(n, Vec3(row + i * step));
        }
    }
}

}  // namespace

Vec3 coronal_axis(const Brick& brick, const ToothBody& body, const GreyLevels& levels,
                  const std::string& fdi, const Vec3& click_P) {
    // Half a contrast above dentine no dentine voxel is bright by noise alone.
    const double bright = levels.dentine + std::max(0.3 * levels.contrast(), 4 * levels.noise);
    Vec3 sum{0, 0, 0};
    Vec3 enamel{0, 0, 0};
    double count = 0, enamel_count = 0;
    for_all(brick.geometry, [&](std::size_t n, const Vec3& p) {
        if (body.solid[n] == 0) return;
        sum += p;
        count += 1;
        if (brick.grey[n] < bright) return;
        enamel += p;
        enamel_count += 1;
    });
    const Vec3 centre = sum / count;
    Mat3 inertia = Mat3::Zero();
    for_all(brick.geometry, [&](std::size_t n, const Vec3& p) {
        if (body.solid[n] != 0) inertia += (p - centre) * (p - centre).transpose();
    });
    const Vec3 axis = Eigen::SelfAdjointEigenSolver<Mat3>(inertia).eigenvectors().col(2);
    Vec3 toward = click_P - centre;
    if (enamel_count > 0.03 * count) {
        toward = enamel / enamel_count - centre;
    } else if (!fdi.empty()) {
        const bool upper = (fdi[0] - '1') % 4 < 2;
        toward = Vec3(0, 0, upper ? -1 : 1);
    }
    return toward.dot(axis) < 0 ? Vec3(-axis) : axis;
}

Mask apical_part(const GridGeometry& geometry, const PulpSpace& pulp, const Vec3& coronal_P,
                 const Vec3& click_P) {
    double height = 0, count = 0;
    for_all(geometry, [&](std::size_t n, const Vec3& p) {
        if (pulp.chamber[n] == 0) return;
        height += p.dot(coronal_P);
        count += 1;
    });
    const double limit = count > 0 ? height / count : click_P.dot(coronal_P);
    Mask result(geometry.voxel_count());
    for_all(geometry, [&](std::size_t n, const Vec3& p) { result[n] = p.dot(coronal_P) <= limit; });
    return result;
}

}  // namespace anfract::tracing
