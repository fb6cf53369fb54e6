// The only source that includes OpenVDB, whose headers take long to compile.
#include "level_set.h"

#include <openvdb/openvdb.h>
#include <openvdb/tools/Composite.h>
#include <openvdb/tools/MeshToVolume.h>
#include <openvdb/tools/VolumeToMesh.h>

#include <Eigen/Geometry>
#include <mutex>

namespace anfract::exchange {
namespace {

void initialise() {
    static std::once_flag once;
    std::call_once(once, [] { openvdb::initialize(); });
}

double signed_volume(const Surface& surface) {
    double six = 0;
    for (const auto& [a, b, c] : surface.triangles) {
        six += surface.vertices_P[a].dot(surface.vertices_P[b].cross(surface.vertices_P[c]));
    }
    return six / 6;
}

}  // namespace

struct LevelSet::Grid {
    openvdb::FloatGrid::Ptr distance;
};

LevelSet::LevelSet(const Surface& surface, double grid_mm) : grid_(std::make_unique<Grid>()) {
    initialise();
    std::vector<openvdb::Vec3s> points;
    points.reserve(surface.vertices_P.size());
    for (const Vec3& p : surface.vertices_P) points.emplace_back(p.x(), p.y(), p.z());
    std::vector<openvdb::Vec3I> triangles;
    triangles.reserve(surface.triangles.size());
    for (const auto& [a, b, c] : surface.triangles) triangles.emplace_back(a, b, c);
    const auto transform = openvdb::math::Transform::createLinearTransform(grid_mm);
    grid_->distance =
        openvdb::tools::meshToLevelSet<openvdb::FloatGrid>(*transform, points, triangles);
}

LevelSet::~LevelSet() = default;
LevelSet::LevelSet(LevelSet&&) noexcept = default;

void LevelSet::add(LevelSet&& other) {
    openvdb::tools::csgUnion(*grid_->distance, *other.grid_->distance);
}

void LevelSet::take(LevelSet&& other) {
    openvdb::tools::csgDifference(*grid_->distance, *other.grid_->distance);
}

std::vector<std::uint8_t> LevelSet::inside(const std::array<int, 3>& first,
                                           const std::array<int, 3>& size) const {
    std::vector<std::uint8_t> points;
    points.reserve(std::size_t(size[0]) * std::size_t(size[1]) * std::size_t(size[2]));
    const auto distance = grid_->distance->getConstAccessor();
    for (int k = 0; k < size[2]; ++k) {
        for (int j = 0; j < size[1]; ++j) {
            for (int i = 0; i < size[0]; ++i)
                points.push_back(distance.getValue({first[0] + i, first[1] + j, first[2] + k}) < 0);
        }
    }
    return points;
}

Surface LevelSet::surface(double adaptivity) const {
    std::vector<openvdb::Vec3s> points;
    std::vector<openvdb::Vec3I> triangles;
    std::vector<openvdb::Vec4I> quads;
    openvdb::tools::volumeToMesh(*grid_->distance, points, triangles, quads, 0.0, adaptivity);
    Surface surface;
    surface.vertices_P.reserve(points.size());
    for (const auto& p : points) surface.vertices_P.emplace_back(p.x(), p.y(), p.z());
    const auto add = [&surface](auto a, auto b, auto c) {
        surface.triangles.push_back(
            {static_cast<int>(a), static_cast<int>(b), static_cast<int>(c)});
    };
    for (const auto& t : triangles) add(t[0], t[1], t[2]);
    for (const auto& q : quads) {
        add(q[0], q[1], q[2]);
        add(q[0], q[2], q[3]);
    }
    if (signed_volume(surface) < 0) {
        for (auto& triangle : surface.triangles) std::swap(triangle[1], triangle[2]);
    }
    return surface;
}

}  // namespace anfract::exchange
