#pragma once

#include <string>
#include <vector>

#include "anfract/geometry/vec.h"
#include "anfract/phantom/tooth_design.h"
#include "canal_course.h"
#include "isthmus.h"
#include "monotone_curve.h"
#include "varying_tube.h"

namespace anfract {

/// One canal as built: its centreline from the chamber to the foramen and the section at each
/// point.
struct CanalSolid {
    std::string name;
    VaryingTube tube;                 ///< with its run through the foramen into the ligament
    std::size_t orifice_station = 0;  ///< first station at or beyond the chamber floor
    std::size_t foramen_station = 0;  ///< last station inside the tooth
    std::size_t leave_station = 0;    ///< where it leaves another canal
    std::size_t join_station = 0;     ///< where it joins another canal
    Vec3 orifice_T;                   ///< where the centreline crosses the chamber floor
    Vec3 foramen_T;                   ///< where it crosses the outer surface
};

/// The tooth as signed distances in the tooth frame T (negative inside), made from a design.
class ToothSolid {
  public:
    explicit ToothSolid(ToothDesign design);

    const ToothDesign& design() const { return design_; }
    const std::vector<CanalSolid>& canals() const { return canals_; }
    const std::vector<VaryingTube>& roots() const { return roots_; }
    const std::vector<Isthmus>& isthmuses() const { return isthmuses_; }
    double half_md_mm(double z_mm) const { return half_md_(z_mm); }
    double half_bl_mm(double z_mm) const { return half_bl_(z_mm); }
    Vec3 reference_T() const;

    /// Outer surface of the tooth: enamel above, root below.
    double outer_mm(const Vec3& p) const;
    /// Thickness of the enamel cap under the surface at that height; 0 apical of the cemento-enamel
    /// junction.
    double enamel_thickness_mm(const Vec3& p) const;
    /// Chamber with its horns, without canals.
    double chamber_mm(const Vec3& p) const;
    /// The whole pulp space.
    double pulp_mm(const Vec3& p) const;

    /// Box that holds the tooth.
    Vec3 box_min() const { return box_min_; }
    Vec3 box_max() const { return box_max_; }

  private:
    double crown_mm(const Vec3& p) const;
    void build_roots();
    void build_canals();
    void build_isthmuses();
    CanalSolid build_canal(std::size_t index) const;
    double floor_z_mm() const;

    ToothDesign design_;
    MonotoneCurve half_md_;
    MonotoneCurve half_bl_;
    std::vector<LaidCourse> courses_;
    std::vector<VaryingTube> roots_;
    std::vector<CanalSolid> canals_;
    std::vector<Isthmus> isthmuses_;
    Vec3 box_min_{0, 0, 0};
    Vec3 box_max_{0, 0, 0};
};

}  // namespace anfract
