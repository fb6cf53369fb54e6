#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/geometry/vec.h"

namespace anfract {

// A tooth is designed in the tooth frame T: millimetres, x toward mesial, y toward buccal (labial),
// z apical; the flattened reference cusp lies in the plane z = 0. T is right-handed for the upper
// left and lower right quadrants and left-handed for the others, so that one design serves either
// side of the mouth.

/// A turn of a canal: its direction changes smoothly by `angle_deg` toward an azimuth of T.
struct BendDesign {
    double at = 0.5;       ///< middle of the turn, as a fraction of the course length
    double angle_deg = 0;  ///< change of direction, >= 0
    double toward_deg =
        0;  ///< azimuth from x (mesial) to y (buccal): 0 mesial, 90 buccal, 180 distal
    double length_mm = 4;  ///< length of the turn; the peak curvature is 1.875 angle / length
};

/// The section of a canal at a distance from its foramen, along the centreline.
struct WidthDesign {
    double from_foramen_mm = 0;
    double short_mm = 0;  ///< short diameter
    double long_mm = 0;   ///< long diameter
};

/// How one canal runs.
struct CanalDesign {
    std::string name;
    Vec2 orifice_mm{0, 0};      ///< x, y in T where the canal leaves the chamber
    Vec2 start_tilt_deg{0, 0};  ///< first direction: degrees toward mesial and toward buccal
    double course_mm = 12;      ///< from the chamber floor to the middle of the root tip
    std::vector<BendDesign> bends;
    std::vector<WidthDesign> widths;  ///< rising from_foramen_mm; between them a monotone cubic
    double long_axis_deg = 90;        ///< azimuth of the long diameter in T; 90 is buccolingual
    double foramen_offset_mm = 0.7;   ///< from the end of the root to the foramen
    double foramen_toward_deg = 180;  ///< azimuth of the side where it opens
    std::string joins;                ///< name of the canal it runs into, or empty
    double join_from_foramen_mm = 3;  ///< where, along that canal
    std::string leaves;               ///< name of the canal it divides off from, or empty
    double leaves_at = 0.4;           ///< where, as a fraction of that canal's course
    /// A canal that leaves another and joins the same one again: how far it parts, x and y in T.
    Vec2 part_by_mm{0, 0};
};

/// The root round one canal: an elliptical tapered tube about the smoothed canal.
struct RootDesign {
    std::string canal;
    double half_md_start_mm = 1.8, half_md_middle_mm = 1.4;  ///< half mesiodistal widths
    double half_bl_start_mm = 2.0, half_bl_middle_mm = 1.6;  ///< half buccolingual widths
    double tip_radius_mm = 0.85;  ///< the root ends as a sphere of this radius
    Vec2 offset_mm{0, 0};         ///< of the root's axis from the canal, fading toward the tip
    double until = 1.0;           ///< fraction of the canal along which this root goes
    double above_floor_mm = 2.5;  ///< how far it starts coronal of the chamber floor
};

/// Half widths of the crown and root trunk at a height.
struct OutlineDesign {
    double z_mm;
    double half_md_mm;
    double half_bl_mm;
};

struct CuspDesign {
    Vec2 at_mm{0, 0};
    double rise_mm = 2;     ///< above the fossa
    double width_mm = 1.6;  ///< standard deviation of the bump
};

struct CrownDesign {
    std::vector<OutlineDesign> outline;  ///< rising z
    bool boxy = true;         ///< sections are rounded rectangles (molar) rather than ellipses
    double fossa_z_mm = 2.4;  ///< height of the occlusal surface away from the cusps
    std::vector<CuspDesign> cusps;  ///< the first one is the reference cusp, cut flat at z = 0
    double cej_z_mm = 6.3;          ///< where the enamel ends
    double enamel_mm = 1.9;         ///< thickness at the occlusal surface
    double trunk_end_z_mm =
        11;  ///< furcation roof; for one root, where the trunk has passed into the root
};

struct HornDesign {
    Vec3 from_mm;             ///< inside the chamber
    Vec3 to_mm;               ///< its tip
    double radius_mm = 0.35;  ///< at the root of the horn; a third of it at the tip
};

struct ChamberDesign {
    Vec3 centre_mm{0, 0, 7.2};
    Vec3 half_mm{2.4, 2.0, 0.85};
    bool flat_floor = true;  ///< a rounded box rather than an ellipsoid
    std::vector<HornDesign> horns;
};

/// A metal filling: an upright block let into the crown from above.
struct FillingDesign {
    Vec2 centre_mm{0, 0};
    Vec2 half_mm{1, 1};
    double floor_z_mm = 3.4;
};

/// A sheet of pulp between two canals of one root.
struct IsthmusDesign {
    std::string first, second;  ///< canals
    double thickness_mm = 0.12;
    double from = 0.35, to = 0.75;  ///< shares of the way from the chamber floor to the root's end
};

/// Softened tooth: a ball about a place on the surface.
struct DecayDesign {
    Vec3 centre_mm{0, 0, 0};
    double radius_mm = 1;
};

/// Everything that decides the shape of an invented tooth.
struct ToothDesign {
    std::string kind;
    std::string fdi;
    CrownDesign crown;
    ChamberDesign chamber;
    std::vector<CanalDesign> canals;  ///< parents before those that join or leave them
    std::vector<RootDesign> roots;
    double root_blend_mm = 0.8;           ///< width over which roots and trunk melt into each other
    std::vector<FillingDesign> fillings;  ///< made only when metal is asked for
    bool metal_crown = false;  ///< then, instead of fillings, a metal cap over the whole crown
    double overhang_mm = 0;    ///< then, a ledge of metal that stands out mesially at the margin
    std::vector<IsthmusDesign> isthmuses;
    std::vector<DecayDesign> decay;
};

struct PhantomKind {
    std::string name;
    std::string fdi;
    std::string description;
};

/// The kinds of teeth with a name. Besides these there is "random", any permanent tooth drawn from
/// published distributions, "random-NN", tooth NN of ISO 3950 drawn so, "straight-WW", a premolar
/// with one straight round canal of WW hundredths of a millimetre, and "system-I" to "system-VIII",
/// an upper premolar with that canal system of [Vertucci1984].
const std::vector<PhantomKind>& phantom_kinds();

/// A tooth of that kind; the seed varies lengths, curves, widths, foramina and walls about
/// published means (docs/methods/phantom.md). Errors: NotFound when there is no such kind, BadInput
/// when NN is no permanent tooth, WW no such width, or there is no such canal system.
Result<ToothDesign> design_tooth(const std::string& kind, std::uint64_t seed);

}  // namespace anfract
