#include "truth.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "anfract/base/parallel.h"

namespace anfract {

namespace {

constexpr int theta_count = 24;
constexpr std::size_t sample_stride = 2;     // stations are 0.05 mm apart
constexpr std::size_t curvature_stride = 4;  // three points 0.2 mm apart
constexpr double longest_wall_mm = 15;

// The unit vector from which angles in a section are counted: the patient's x axis projected onto
// it, or y where x is within 10 degrees of the tangent (see Canal).
Vec3 section_zero(const Vec3& tangent_P) {
    const double limit = std::cos(10 * std::numbers::pi / 180);
    const Vec3 axis = std::abs(tangent_P.x()) > limit ? Vec3(0, 1, 0) : Vec3(1, 0, 0);
    return (axis - tangent_P * tangent_P.dot(axis)).normalized();
}

// Distance from `from` (inside) to the outer surface along a unit direction.
double ray_to_surface(const ToothSolid& solid, const Vec3& from, const Vec3& direction) {
    double inside = 0, t = 0;
    while (t < longest_wall_mm) {
        const double d = solid.outer_mm(from + t * direction);
        if (d >= 0) break;
        inside = t;
        t += std::max(-0.7 * d, 0.02);
    }
    double outside = t;
    for (int round = 0; round < 30; ++round) {
        const double middle = (inside + outside) / 2;
        (solid.outer_mm(from + middle * direction) < 0 ? inside : outside) = middle;
    }
    return inside;
}

// Menger curvature: 4 area / (a b c) of three points on the curve.
double curvature(const Vec3& a, const Vec3& b, const Vec3& c) {
    const Vec3 ab = b - a, bc = c - b, ca = a - c;
    const double product = ab.norm() * bc.norm() * ca.norm();
    return product > 0 ? 2 * ab.cross(-ca).norm() / product : 0.0;
}

struct SamplePlace {
    Vec3 point_T;
    std::size_t station;
};

std::vector<SamplePlace> places(const CanalSolid& canal) {
    const auto& stations = canal.tube.stations();
    std::vector<SamplePlace> list{{canal.orifice_T, canal.orifice_station}};
    for (std::size_t i = canal.orifice_station; i <= canal.foramen_station; i += sample_stride) {
        if ((stations[i].centre - list.back().point_T).norm() > 0.02) {
            list.push_back({stations[i].centre, i});
        }
    }
    if ((canal.foramen_T - list.back().point_T).norm() < 0.02) list.pop_back();
    list.push_back({canal.foramen_T, canal.foramen_station});
    return list;
}

double radius_toward(const VaryingTube::Station& s, const Vec3& direction) {
    const double u = direction.dot(s.first_axis) / s.first_half_mm;
    const double v = direction.dot(s.second_axis) / s.second_half_mm;
    return 1 / std::sqrt(u * u + v * v);
}

// Section, walls and curvature at one place; depth and point are set by the caller.
void describe(const ToothSolid& solid, const Pose& pose, const CanalSolid& canal,
              const SamplePlace& place, CanalSample& sample, Vec3& first_direction,
              std::vector<double>& walls) {
    const auto& stations = canal.tube.stations();
    const VaryingTube::Station& s = stations[place.station];
    const bool first_is_long = s.first_half_mm >= s.second_half_mm;
    sample.diameter_long_mm = 2 * std::max(s.first_half_mm, s.second_half_mm);
    sample.diameter_short_mm = 2 * std::min(s.first_half_mm, s.second_half_mm);
    sample.diameter_mm = std::sqrt(sample.diameter_long_mm * sample.diameter_short_mm);

    const Vec3 tangent_P = pose.linear * s.tangent;
    const Vec3 zero = section_zero(tangent_P);
    const Vec3 quarter = tangent_P.cross(zero);
    const Vec3 long_P = pose.linear * (first_is_long ? s.first_axis : s.second_axis);
    const double angle = std::atan2(long_P.dot(quarter), long_P.dot(zero)) * 180 / std::numbers::pi;
    sample.long_axis_deg = std::fmod(angle + 360, 180);

    const std::size_t low = std::max(place.station, curvature_stride) - curvature_stride;
    const std::size_t high = std::min(low + 2 * curvature_stride, stations.size() - 1);
    sample.curvature_per_mm =
        curvature(stations[low].centre, stations[(low + high) / 2].centre, stations[high].centre);

    first_direction = zero;
    walls.resize(theta_count);
    double least = longest_wall_mm;
    for (int i = 0; i < theta_count; ++i) {
        const double theta = 2 * std::numbers::pi * i / theta_count;
        const Vec3 direction_P = std::cos(theta) * zero + std::sin(theta) * quarter;
        const Vec3 direction_T = pose.linear.transpose() * direction_P;
        const double wall = std::max(
            ray_to_surface(solid, place.point_T, direction_T) - radius_toward(s, direction_T), 0.0);
        walls[static_cast<std::size_t>(i)] = wall;
        if (wall < least) {
            least = wall;
            sample.wall_min_toward = direction_P;
        }
    }
    sample.wall_min_mm = least;
}

Canal true_canal(const ToothSolid& solid, const Pose& pose, const CanalSolid& solid_canal,
                 unsigned threads) {
    Canal canal;
    canal.name = solid_canal.name;
    canal.presence = 1.0;
    canal.orifice_P = pose.to_patient(solid_canal.orifice_T);
    canal.foramen_P = pose.to_patient(solid_canal.foramen_T);
    const std::vector<SamplePlace> list = places(solid_canal);
    canal.samples.resize(list.size());
    WallSheet sheet;
    sheet.theta_count = theta_count;
    sheet.first_direction.resize(list.size());
    sheet.wall_mm.resize(list.size());
    parallel_for(list.size(), threads, [&](std::size_t begin, std::size_t end) {
        for (std::size_t i = begin; i < end; ++i) {
            canal.samples[i].point_P = pose.to_patient(list[i].point_T);
            describe(solid, pose, solid_canal, list[i], canal.samples[i], sheet.first_direction[i],
                     sheet.wall_mm[i]);
        }
    });
    double depth = (solid_canal.orifice_T - solid.reference_T()).norm();
    for (std::size_t i = 0; i < list.size(); ++i) {
        if (i > 0) {
            const double gap = (list[i].point_T - list[i - 1].point_T).norm();
            depth += gap;
            canal.length_mm += gap;
        }
        canal.samples[i].depth_mm = depth;
    }
    canal.depth_to_foramen_mm = depth;
    canal.depth_sd_mm = 0.0;
    canal.wall_sheet = std::move(sheet);
    return canal;
}

// The depth along `canal` of the sample nearest to a point.
double depth_near(const Canal& canal, const Vec3& point_P) {
    const CanalSample* best = &canal.samples.front();
    for (const CanalSample& sample : canal.samples) {
        if ((sample.point_P - point_P).norm() < (best->point_P - point_P).norm()) best = &sample;
    }
    return best->depth_mm;
}

}  // namespace

Tooth true_tooth(const ToothSolid& solid, const Pose& pose, unsigned threads) {
    Tooth tooth;
    tooth.fdi = solid.design().fdi;
    tooth.reference_P = pose.to_patient(solid.reference_T());
    tooth.invented = true;
    for (std::size_t i = 0; i < solid.canals().size(); ++i) {
        const CanalDesign& design = solid.design().canals[i];
        Canal canal = true_canal(solid, pose, solid.canals()[i], threads);
        const CanalSolid& built = solid.canals()[i];
        const auto depth_at = [&](std::size_t station) {
            return depth_near(canal, pose.to_patient(built.tube.stations()[station].centre));
        };
        if (!design.joins.empty()) canal.joins = {design.joins, depth_at(built.join_station)};
        if (!design.leaves.empty()) canal.leaves = {design.leaves, depth_at(built.leave_station)};
        tooth.canals.push_back(std::move(canal));
    }
    return tooth;
}

}  // namespace anfract
