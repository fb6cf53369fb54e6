#pragma once

#include <cstdint>
#include <memory>
#include <string>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/geometry/vec.h"
#include "anfract/phantom/tooth_design.h"
#include "anfract/scan/volume.h"
#include "anfract/tooth/tooth.h"

namespace anfract {

class ToothSolid;

/// What to make. The same options give the same phantom, voxel for voxel, with any number of
/// threads.
struct PhantomOptions {
    std::string kind = "lower-molar";
    std::uint64_t seed = 1;
    double voxel_mm = 0.125;    ///< 0.05 to 0.5
    double psf_fwhm_mm = 0.25;  ///< of the whole point spread, the voxel's own box included
    double noise = 70;          ///< standard deviation of the noise in grey values; 0 for none
    double noise_fwhm_mm =
        0.2;  ///< correlation: width of the Gaussian that white noise is filtered with
    double tilt_max_deg = 15;    ///< the tooth leans by a random angle up to this
    bool bone_texture = true;    ///< cancellous bone varies as trabeculae do
    bool metal = false;          ///< metal fillings, with their streaks
    bool neighbours = false;     ///< a tooth on either side, all but touching
    bool thin_bone = false;      ///< hardly any bone over the root, buccally
    double grey_scale = 1;       ///< the scanner's grey values are scale * grey + offset; 0.2 to 5
    double grey_offset = 0;      ///< -2000 to 2000
    double field_mm = 0;         ///< field of view: a cube that may cut the tooth; 0 for all of it
    double movement_mm = 0;      ///< the head moved once by this during the scan, 0 to 3
    double missing_arc_deg = 0;  ///< of the half turn that a slice needs, 0 to 60
    unsigned threads = 0;        ///< 0: as many as the machine has processors
};

/// Where the tooth stands: P = linear * T + origin_P. `linear` is a rotation, with a mirror where
/// the tooth frame is left-handed.
struct Pose {
    Mat3 linear = Mat3::Identity();
    Vec3 origin_P{0, 0, 0};

    Vec3 to_patient(const Vec3& point_T) const { return linear * point_T + origin_P; }
    Vec3 to_tooth(const Vec3& point_P) const { return linear.transpose() * (point_P - origin_P); }
};

/// An invented tooth: what a scanner would give of it, and what is true.
///
/// `truth` holds the canals as built: centrelines exact to 0.001 mm, sections exact ellipses normal
/// to them, walls from the implicit outer surface to 0.02 mm. The orifice is where the centreline
/// crosses the chamber floor, the foramen where it crosses the root's surface. Walls run to the
/// outer surface of the tooth, also where another canal lies between.
struct Phantom {
    PhantomOptions options;
    ToothDesign design;
    Pose pose;
    Volume volume;  ///< grey values resemble Hounsfield units; `invented` is set
    Tooth truth;
    Vec3 inside_P;     ///< in the pulp chamber
    Vec3 reference_P;  ///< on the flattened reference cusp; depths are counted from here
    std::shared_ptr<const ToothSolid> solid;

    /// Signed distance to the tooth's outer surface (enamel and root), negative inside. Right to
    /// first order near the surface; within a few per cent some millimetres away.
    double tooth_distance_mm(const Vec3& point_P) const;
    /// Signed distance to the surface of the pulp space, canals included; negative inside.
    double pulp_distance_mm(const Vec3& point_P) const;
    /// Whether an isthmus lies at this height: there the width of one canal means nothing.
    bool beside_isthmus(const Vec3& point_P) const;
};

/// Makes a phantom. Takes one to three seconds at the defaults on two processors.
/// Errors: NotFound (no such kind), BadInput (an option out of range), Cancelled.
Result<Phantom> make_phantom(const PhantomOptions& options, const Progress& progress);

}  // namespace anfract
