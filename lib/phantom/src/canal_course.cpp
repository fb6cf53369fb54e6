#include "canal_course.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

namespace anfract {

namespace {

constexpr double fine_step_mm = 0.01;
constexpr double exit_length_mm =
    2.6;                           // over which a canal swings from the root's axis to its foramen
constexpr double beyond_mm = 2.0;  // how far it runs on, to be cut by the surface later

double radians(double deg) { return deg * std::numbers::pi / 180; }

Vec2 toward(double azimuth_deg) {
    return {std::cos(radians(azimuth_deg)), std::sin(radians(azimuth_deg))};
}

// The direction whose angle from the apical axis is |tilt| in the azimuth of `tilt` (radians).
Vec3 direction_of(const Vec2& tilt) {
    const double angle = tilt.norm();
    if (angle < 1e-12) return {0, 0, 1};
    const Vec2 side = tilt / angle * std::sin(angle);
    return {side.x(), side.y(), std::cos(angle)};
}

Vec2 tilt_at(const CanalDesign& design, double s_mm) {
    Vec2 tilt(radians(design.start_tilt_deg.x()), radians(design.start_tilt_deg.y()));
    for (const BendDesign& bend : design.bends) {
        const double t = (s_mm - bend.at * design.course_mm) / bend.length_mm + 0.5;
        tilt += toward(bend.toward_deg) * radians(bend.angle_deg) * smooth_step(t);
    }
    return tilt;
}

// Integrates the direction from `start` at s_mm to the end of the course.
void follow(const CanalDesign& design, double s_mm, std::vector<Vec3>& points) {
    Vec3 at = points.back();
    while (s_mm < design.course_mm) {
        const double step = std::min(fine_step_mm, design.course_mm - s_mm);
        at += step * direction_of(tilt_at(design, s_mm + step / 2));
        points.push_back(at);
        s_mm += step;
        if (step < fine_step_mm) break;
    }
}

Vec3 end_direction(const std::vector<Vec3>& points) {
    return (points.back() - points[points.size() - 2]).normalized();
}

// The quintic with given ends, first derivatives and second derivatives.
Vec3 quintic(const Vec3& p0, const Vec3& v0, const Vec3& a0, const Vec3& p1, const Vec3& v1,
             double t) {
    const double t2 = t * t, t3 = t2 * t, t4 = t3 * t, t5 = t4 * t;
    return p0 * (1 - 10 * t3 + 15 * t4 - 6 * t5) + v0 * (t - 6 * t3 + 8 * t4 - 3 * t5) +
           a0 * (0.5 * t2 - 1.5 * t3 + 1.5 * t4 - 0.5 * t5) + v1 * (-4 * t3 + 7 * t4 - 3 * t5) +
           p1 * (10 * t3 - 15 * t4 + 6 * t5);
}

// Lets the canal part from the axis over the last stretch, so that it leaves the root's end sphere
// `foramen_offset_mm` away from the end.
void swing_to_foramen(const CanalDesign& design, double tip_radius_mm, LaidCourse& course,
                      std::vector<Vec3> fine) {
    course.tip_centre = fine.back();
    course.tip_direction = end_direction(fine);
    const double half_chord = std::clamp(design.foramen_offset_mm / (2 * tip_radius_mm), 0.0, 0.9);
    const double angle = 2 * std::asin(half_chord);
    const Vec2 side2 = toward(design.foramen_toward_deg);
    Vec3 side(side2.x(), side2.y(), 0);
    side = (side - course.tip_direction * course.tip_direction.dot(side)).normalized();
    const Vec3 outward = course.tip_direction * std::cos(angle) + side * std::sin(angle);
    const Vec3 foramen = course.tip_centre + tip_radius_mm * outward;

    const auto back = static_cast<std::size_t>(exit_length_mm / fine_step_mm);
    fine.resize(fine.size() > back + 2 ? fine.size() - back : 3);
    const Vec3 p0 = fine.back();
    const Vec3 before = fine[fine.size() - 3], middle = fine[fine.size() - 2];
    // It leaves between the root's axis and the surface normal: squarely out would need a sharper
    // turn.
    const Vec3 leaving = (course.tip_direction + outward).normalized();
    const Vec3 first_direction = (p0 - middle).normalized();
    const double chord = (foramen - p0).norm();
    const Vec3 bend = (p0 - 2 * middle + before) / (fine_step_mm * fine_step_mm);
    const auto steps = static_cast<int>(chord / fine_step_mm);
    for (int i = 1; i <= steps; ++i) {
        fine.push_back(quintic(p0, first_direction * chord, bend * chord * chord, foramen,
                               leaving * chord, static_cast<double>(i) / steps));
    }
    fine.push_back(foramen + leaving * beyond_mm);
    course.canal = evenly_spaced(fine, course_step_mm);
}

double tip_radius_of(const ToothDesign& design, const std::string& canal) {
    for (const RootDesign& root : design.roots) {
        if (root.canal == canal && root.until >= 1.0) return root.tip_radius_mm;
    }
    return design.roots.front().tip_radius_mm;
}

std::vector<Vec3> fine_start(const CanalDesign& canal, double floor_z_mm, double start_mm) {
    const Vec3 orifice(canal.orifice_mm.x(), canal.orifice_mm.y(), floor_z_mm);
    return {orifice - start_mm * direction_of(tilt_at(canal, 0)), orifice};
}

std::size_t index_of(const std::vector<CanalDesign>& canals, const std::string& name) {
    std::size_t i = 0;
    while (i + 1 < canals.size() && canals[i].name != name) ++i;
    return i;
}

// What a joining canal shares with its parent: from `join_from_foramen_mm` to the end.
void share_end(const LaidCourse& parent, std::vector<Vec3> own, LaidCourse& course) {
    own.back() = parent.canal[course.parent_join_index];
    course.canal = evenly_spaced(own, course_step_mm);
    course.axis = course.canal;
    course.join_index = course.canal.size() - 1;
    for (std::size_t i = course.parent_join_index + 1; i < parent.canal.size(); ++i) {
        course.canal.push_back(parent.canal[i]);
    }
    course.tip_centre = parent.tip_centre;
    course.tip_direction = parent.tip_direction;
}

std::size_t join_in_parent(const CanalDesign& design, std::size_t parent_foramen) {
    const auto back = static_cast<std::size_t>(design.join_from_foramen_mm / course_step_mm);
    return parent_foramen > back ? parent_foramen - back : 1;
}

// The parent's course moved sideways by an amount that fades to nothing where they join.
LaidCourse lay_joining(const CanalDesign& design, const LaidCourse& parent,
                       std::size_t parent_foramen, double floor_z_mm) {
    LaidCourse course;
    course.parent_join_index = join_in_parent(design, parent_foramen);
    const Vec3 start = parent.canal.front();
    const double z0 = floor_z_mm;
    const double z1 = parent.canal[course.parent_join_index].z();
    const Vec2 apart = design.orifice_mm - Vec2(start.x(), start.y());
    std::vector<Vec3> own;
    for (std::size_t i = 0; i <= course.parent_join_index; ++i) {
        const Vec3& p = parent.canal[i];
        const double t = (p.z() - z0) / (z1 - z0);
        // Before the floor the offset stays whole; the first part falls slowly, as such canals run
        // side by side before they meet.
        const double w =
            1 - smooth_step(0.15 + 0.85 * t) + smooth_step(0.15) * (1 - smooth_step(t));
        own.push_back(p + Vec3(apart.x() * w, apart.y() * w, 0));
    }
    share_end(parent, std::move(own), course);
    return course;
}

// The parent's course moved sideways between the place where the canal parts from it and the place
// where it comes back.
LaidCourse lay_bypass(const CanalDesign& design, const LaidCourse& parent,
                      std::size_t parent_foramen, std::size_t leave) {
    LaidCourse course;
    course.leave_index = leave;
    course.parent_join_index = std::max(join_in_parent(design, parent_foramen), leave + 2);
    std::vector<Vec3> own(parent.canal.begin(),
                          parent.canal.begin() + static_cast<std::ptrdiff_t>(leave));
    for (std::size_t i = leave; i <= course.parent_join_index; ++i) {
        const double t =
            static_cast<double>(i - leave) / static_cast<double>(course.parent_join_index - leave);
        constexpr double swing = 0.4;  // share of the way over which it parts, and comes back
        const double w = smooth_step(t / swing) * smooth_step((1 - t) / swing);
        own.push_back(parent.canal[i] + w * Vec3(design.part_by_mm.x(), design.part_by_mm.y(), 0));
    }
    share_end(parent, std::move(own), course);
    return course;
}

}  // namespace

double course_start_mm(const ToothDesign& design) {
    return design.chamber.flat_floor ? 0.6 : 0.6 * design.chamber.half_mm.z();
}

double smooth_step(double t) {
    t = std::clamp(t, 0.0, 1.0);
    return t * t * t * (t * (t * 6 - 15) + 10);
}

std::vector<Vec3> evenly_spaced(const std::vector<Vec3>& points, double step_mm) {
    std::vector<Vec3> spaced{points.front()};
    double left = step_mm;  // to the next point wanted
    for (std::size_t i = 1; i < points.size(); ++i) {
        Vec3 from = points[i - 1];
        double length = (points[i] - from).norm();
        while (length >= left) {
            from += (points[i] - from) * (left / length);
            spaced.push_back(from);
            length -= left;
            left = step_mm;
        }
        left -= length;
    }
    if ((spaced.back() - points.back()).norm() > 1e-6) spaced.push_back(points.back());
    return spaced;
}

std::vector<LaidCourse> lay_courses(const ToothDesign& design, double floor_z_mm) {
    std::vector<LaidCourse> courses;
    std::vector<std::vector<Vec3>> fines;
    const double start_mm = course_start_mm(design);
    for (const CanalDesign& canal : design.canals) {
        if (!canal.joins.empty()) {
            const LaidCourse& parent = courses[index_of(design.canals, canal.joins)];
            const auto beyond = static_cast<std::size_t>(beyond_mm / course_step_mm);
            const std::size_t foramen = parent.canal.size() - 1 - beyond;
            const double leave_mm = canal.leaves_at * canal.course_mm + start_mm;
            courses.push_back(canal.leaves.empty() ? lay_joining(canal, parent, foramen, floor_z_mm)
                                                   : lay_bypass(canal, parent, foramen,
                                                                static_cast<std::size_t>(
                                                                    leave_mm / course_step_mm)));
            fines.emplace_back();
            continue;
        }
        std::vector<Vec3> fine = fine_start(canal, floor_z_mm, start_mm);
        LaidCourse course;
        if (!canal.leaves.empty()) {
            const std::size_t parent = index_of(design.canals, canal.leaves);
            const double s = canal.leaves_at * design.canals[parent].course_mm;
            const auto shared = static_cast<std::size_t>(s / fine_step_mm) + 2;
            fine.assign(fines[parent].begin(),
                        fines[parent].begin() + static_cast<std::ptrdiff_t>(shared));
            follow(canal, s, fine);
            course.leave_index = static_cast<std::size_t>((s + start_mm) / course_step_mm);
        } else {
            follow(canal, 0, fine);
        }
        course.axis = evenly_spaced(fine, course_step_mm);
        fines.push_back(fine);
        swing_to_foramen(canal, tip_radius_of(design, canal.name), course, fine);
        courses.push_back(std::move(course));
    }
    return courses;
}

}  // namespace anfract
