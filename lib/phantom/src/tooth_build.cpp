// How the tubes of a tooth, roots and canals, are made from its design.

#include <algorithm>
#include <cmath>
#include <numbers>

#include "tooth_solid.h"

namespace anfract {

namespace {

constexpr double root_step_mm = 0.1;
constexpr double root_smoothing_mm =
    1.2;  // standard deviation: a root follows its canal's longer bends only
constexpr double into_ligament_mm = 0.12;  // how far a canal runs on beyond the surface

std::vector<Vec3> smoothed(const std::vector<Vec3>& points, double step_mm, double sd_mm) {
    std::vector<Vec3> out(points.size());
    const auto last = static_cast<std::ptrdiff_t>(points.size()) - 1;
    const auto reach = static_cast<std::ptrdiff_t>(3 * sd_mm / step_mm);
    for (std::ptrdiff_t i = 0; i <= last; ++i) {
        // The window stays symmetric, so that it shrinks toward the ends and keeps them in place.
        const std::ptrdiff_t r = std::min({reach, i, last - i});
        Vec3 sum(0, 0, 0);
        double weights = 0;
        for (std::ptrdiff_t k = -r; k <= r; ++k) {
            const double t = static_cast<double>(k) * step_mm / sd_mm;
            const double w = std::exp(-t * t / 2);
            sum += w * points[static_cast<std::size_t>(i + k)];
            weights += w;
        }
        out[static_cast<std::size_t>(i)] = sum / weights;
    }
    return out;
}

Vec3 tangent_at(const std::vector<Vec3>& points, std::size_t i) {
    const Vec3& a = points[i > 0 ? i - 1 : 0];
    const Vec3& b = points[std::min(i + 1, points.size() - 1)];
    return (b - a).normalized();
}

VaryingTube build_root(const RootDesign& root, const LaidCourse& course, double start_mm) {
    std::vector<Vec3> line = course.axis;
    // The root starts in the crown, straight above the canal's start.
    const Vec3 up = -tangent_at(line, 0) * root_step_mm;
    std::vector<Vec3> above;
    for (double z = root.above_floor_mm - start_mm; z > 0; z -= root_step_mm) {
        above.push_back(line.front() + up * (z / root_step_mm));
    }
    line.insert(line.begin(), above.begin(), above.end());
    line = smoothed(evenly_spaced(line, root_step_mm), root_step_mm, root_smoothing_mm);
    line.resize(std::max<std::size_t>(
        4, static_cast<std::size_t>(root.until * static_cast<double>(line.size()))));
    const double tip = root.tip_radius_mm;
    // Widths along the root; past the middle they fall faster toward the tip.
    const MonotoneCurve md({{0.0, root.half_md_start_mm},
                            {0.5, root.half_md_middle_mm},
                            {0.8, 0.45 * root.half_md_middle_mm + 0.55 * tip},
                            {1.0, tip}});
    const MonotoneCurve bl({{0.0, root.half_bl_start_mm},
                            {0.5, root.half_bl_middle_mm},
                            {0.8, 0.45 * root.half_bl_middle_mm + 0.55 * tip},
                            {1.0, tip}});
    std::vector<Vec3> moved = line;
    for (std::size_t i = 0; i < line.size(); ++i) {
        const double t = static_cast<double>(i) / static_cast<double>(line.size() - 1);
        moved[i] += Vec3(root.offset_mm.x(), root.offset_mm.y(), 0) * (1 - smooth_step(2 * t - 1));
    }
    std::vector<VaryingTube::Station> stations;
    for (std::size_t i = 0; i < moved.size(); ++i) {
        const double t = static_cast<double>(i) / static_cast<double>(moved.size() - 1);
        VaryingTube::Station s;
        s.centre = moved[i];
        s.tangent = tangent_at(moved, i);
        section_axes(s.tangent, Vec3(1, 0, 0), s.first_axis, s.second_axis);
        s.first_half_mm = md(t);
        s.second_half_mm = bl(t);
        stations.push_back(s);
    }
    return VaryingTube(std::move(stations), root_step_mm, root.half_md_start_mm / 2, tip);
}

// Half widths of a canal at a distance from its foramen.
struct Widths {
    MonotoneCurve short_half, long_half;
    explicit Widths(const CanalDesign& design) {
        std::vector<std::pair<double, double>> s, l;
        for (const WidthDesign& w : design.widths) {
            s.emplace_back(w.from_foramen_mm, w.short_mm / 2);
            l.emplace_back(w.from_foramen_mm, w.long_mm / 2);
        }
        short_half = MonotoneCurve(s);
        long_half = MonotoneCurve(l);
    }
};

// Index of the last point with distance < 0 before the first crossing at or after `from`, and the
// crossing.
template <class Distance>
std::size_t crossing(const std::vector<Vec3>& points, std::size_t from, const Distance& distance,
                     Vec3& where) {
    for (std::size_t i = from; i + 1 < points.size(); ++i) {
        if (distance(points[i]) < 0 && distance(points[i + 1]) >= 0) {
            double low = 0, high = 1;
            for (int round = 0; round < 40; ++round) {
                const double t = (low + high) / 2;
                const Vec3 p = points[i] + t * (points[i + 1] - points[i]);
                (distance(p) < 0 ? low : high) = t;
            }
            where = points[i] + low * (points[i + 1] - points[i]);
            return i;
        }
    }
    where = points.back();
    return points.size() - 1;
}

}  // namespace

void ToothSolid::build_roots() {
    for (const RootDesign& root : design_.roots) {
        for (std::size_t i = 0; i < design_.canals.size(); ++i) {
            if (design_.canals[i].name == root.canal)
                roots_.push_back(build_root(root, courses_[i], course_start_mm(design_)));
        }
    }
}

void ToothSolid::build_canals() {
    for (std::size_t i = 0; i < design_.canals.size(); ++i) canals_.push_back(build_canal(i));
}

void ToothSolid::build_isthmuses() {
    for (const IsthmusDesign& design : design_.isthmuses) {
        const CanalSolid *first = nullptr, *second = nullptr;
        for (const CanalSolid& canal : canals_) {
            if (canal.name == design.first) first = &canal;
            if (canal.name == design.second) second = &canal;
        }
        const double end_z = std::min(first->foramen_T.z(), second->foramen_T.z());
        const double floor_z = floor_z_mm();
        isthmuses_.emplace_back(first->tube, second->tube, design.thickness_mm,
                                floor_z + design.from * (end_z - floor_z),
                                floor_z + design.to * (end_z - floor_z));
    }
}

CanalSolid ToothSolid::build_canal(std::size_t index) const {
    const CanalDesign& design = design_.canals[index];
    const LaidCourse& course = courses_[index];
    const std::vector<Vec3>& line = course.canal;
    CanalSolid canal;
    canal.name = design.name;
    canal.leave_station = course.leave_index;
    canal.join_station = course.join_index;
    canal.orifice_station =
        crossing(line, 0, [this](const Vec3& p) { return chamber_mm(p); }, canal.orifice_T) + 1;
    canal.foramen_station = crossing(
        line, line.size() / 2, [this](const Vec3& p) { return outer_mm(p); }, canal.foramen_T);

    const Widths own(design);
    const std::string parent_name = design.joins.empty() ? design.leaves : design.joins;
    std::size_t parent_index = 0;
    while (!parent_name.empty() && design_.canals[parent_index].name != parent_name) ++parent_index;

    std::vector<VaryingTube::Station> stations;
    const double azimuth = design.long_axis_deg * std::numbers::pi / 180;
    const Vec3 long_axis(std::cos(azimuth), std::sin(azimuth), 0);
    for (std::size_t i = 0; i < line.size(); ++i) {
        const bool before = !design.leaves.empty() && i <= course.leave_index;
        const bool after = !design.joins.empty() && i > course.join_index;
        if (before || after) {
            // The shared part has the parent's section, so that the two canals are one there.
            const std::size_t at = before ? i : i - course.join_index + course.parent_join_index;
            const auto& parent = canals_[parent_index].tube.stations();
            if (at < parent.size()) stations.push_back(parent[at]);
            continue;
        }
        VaryingTube::Station s;
        s.centre = line[i];
        s.tangent = tangent_at(line, i);
        section_axes(s.tangent, long_axis, s.first_axis, s.second_axis);
        const double from_foramen =
            (static_cast<double>(canal.foramen_station) - static_cast<double>(i)) * course_step_mm;
        s.first_half_mm = own.long_half(from_foramen);
        s.second_half_mm = own.short_half(from_foramen);
        if (!design.leaves.empty()) {
            // Just after a division the section passes over from the parent's.
            const double t = static_cast<double>(i - course.leave_index) * course_step_mm / 1.5;
            const VaryingTube::Station& last =
                canals_[parent_index].tube.stations()[course.leave_index];
            const double w = 1 - smooth_step(t);
            s.first_half_mm += w * (last.first_half_mm - s.first_half_mm);
            s.second_half_mm += w * (last.second_half_mm - s.second_half_mm);
        }
        stations.push_back(s);
        if (i > canal.foramen_station && outer_mm(line[i]) > into_ligament_mm) break;
    }
    canal.tube = VaryingTube(std::move(stations), course_step_mm, 0.1, 0.02);
    return canal;
}

}  // namespace anfract
