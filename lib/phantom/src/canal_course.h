#pragma once

#include <string>
#include <vector>

#include "anfract/geometry/vec.h"
#include "anfract/phantom/tooth_design.h"

namespace anfract {

/// The designed course of one canal in the tooth frame, before its foramen is cut by the root's
/// surface.
struct LaidCourse {
    /// Points of the smooth course every `course_step_mm`, from inside the chamber to the root
    /// tip's middle.
    std::vector<Vec3> axis;
    /// The same with the swing toward the foramen, running on straight beyond the surface.
    std::vector<Vec3> canal;
    Vec3 tip_centre{0, 0, 0};
    Vec3 tip_direction{0, 0, 1};
    /// For a canal that leaves another: index into `canal`, and into the parent's, of the last
    /// point they share. Otherwise 0.
    std::size_t leave_index = 0;
    /// For a canal that joins another: index into `canal` of the first point they share, and the
    /// same point in the parent's. Otherwise 0.
    std::size_t join_index = 0;
    std::size_t parent_join_index = 0;
};

inline constexpr double course_step_mm = 0.05;
/// How far coronal of the chamber floor the courses start. Where the chamber narrows like a funnel
/// it is far enough up for the canal to open into it without a waist.
double course_start_mm(const ToothDesign& design);

/// Courses of all canals of a design, in its order.
std::vector<LaidCourse> lay_courses(const ToothDesign& design, double floor_z_mm);

/// 6t^5 - 15t^4 + 10t^3 on [0, 1], flat with its first two derivatives at both ends; clamped
/// outside.
double smooth_step(double t);

/// Points along a polyline at equal arc lengths `step_mm` (the last gap may be shorter).
std::vector<Vec3> evenly_spaced(const std::vector<Vec3>& points, double step_mm);

}  // namespace anfract
