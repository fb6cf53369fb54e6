#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "anfract/geometry/vec.h"

namespace anfract {

/// A canal at one depth. Depth is millimetres from the reference point, positive apically.
struct CanalSample {
    double depth_mm = 0;
    Vec3 point_P{0, 0, 0};      ///< on the centreline, LPS mm
    double point_sd_mm = 0;     ///< of each coordinate across the centreline; 0 when not known
    double diameter_mm = 0;     ///< of the circle of equal area
    double diameter_sd_mm = 0;  ///< standard deviation; 0 when not known
    double diameter_short_mm =
        0;  ///< of the ellipse fitted to the section; equals diameter_mm when round
    double diameter_long_mm = 0;
    double long_axis_deg = 0;           ///< direction of the long diameter, see Canal
    std::optional<double> wall_min_mm;  ///< thinnest dentine outward from the canal's wall
    Vec3 wall_min_toward{0, 0, 0};  ///< unit vector to where it is thinnest; zero when not known
    double curvature_per_mm = 0;
};

/// Where a canal meets another one: that canal's name, and the depth along this one.
struct Branching {
    std::string canal;
    double depth_mm = 0;
};

/// Dentine thickness W(s, theta) outward from the canal's wall, for each sample and `theta_count`
/// directions.
struct WallSheet {
    int theta_count = 0;
    std::vector<Vec3>
        first_direction;  ///< per sample: unit vector of theta = 0, normal to the centreline
    std::vector<std::vector<double>>
        wall_mm;  ///< [sample][theta], counted right-handed about the apical tangent
};

/// One root canal from its orifice to its foramen, sampled at most 0.25 mm apart.
///
/// A canal that joins another goes on through the shared part to the common foramen (`joins`); one
/// that divides off starts at the orifice of its parent (`leaves`). `long_axis_deg` is counted from
/// the patient's x axis projected onto the section (from y where x is within 10 degrees of the
/// tangent), right-handed about the apical tangent, in [0, 180).
struct Canal {
    std::string name;
    std::optional<double> presence;  ///< probability that the canal exists
    bool by_hand = false;            ///< the user gave its ends
    Vec3 orifice_P{0, 0, 0};
    Vec3 foramen_P{0, 0, 0};
    std::optional<Branching> joins;
    std::optional<Branching> leaves;
    double length_mm = 0;  ///< along the centreline, orifice to foramen
    double depth_to_foramen_mm = 0;
    std::optional<double> depth_sd_mm;
    /// Over which errors of the centreline hang together: at places u apart along the canal their
    /// correlation is exp(-u^2 / (2 point_correlation_mm^2)).
    std::optional<double> point_correlation_mm;
    std::vector<CanalSample> samples;
    std::optional<WallSheet> wall_sheet;
};

/// A canal whose sign in the scan falls short of certainty, and where to look for it.
struct PossibleCanal {
    double presence = 0;         ///< probability that it exists
    Vec3 first_sign_P{0, 0, 0};  ///< where its sign begins, below the floor of the chamber
    Vec3 last_sign_P{0, 0, 0};
    double first_sign_depth_mm = 0;  ///< straight from the reference point
    std::string nearest_canal;       ///< of the canals that were found, by its orifice
    double from_nearest_mm = 0;      ///< across the tooth, from that orifice
    std::string direction;           ///< of the first sign from there, as `direction_name`
    double floor_left_mm = 0;        ///< dentine between the first sign and the root's surface
};

/// A closed triangle surface in P.
struct Surface {
    std::vector<Vec3> vertices_P;
    std::vector<std::array<int, 3>> triangles;  ///< counter-clockwise from outside
};

/// What is known of the scan a tooth was traced in.
struct ScanFacts {
    std::string series_uid;
    Vec3 voxel_mm{0, 0, 0};
    double noise = 0;              ///< standard deviation of the grey values in dentine
    double sharpness_fwhm_mm = 0;  ///< full width at half maximum of the point spread
};

/// A tooth as traced or made by hand; the contents of an anfract.tooth file.
struct Tooth {
    std::string fdi;            ///< ISO 3950 two-digit notation; "" when not given
    Vec3 reference_P{0, 0, 0};  ///< depths are counted from here
    bool invented = false;
    std::optional<ScanFacts> scan;
    std::vector<Canal> canals;
    std::vector<PossibleCanal> possible;
    std::vector<std::string> findings;  ///< sentences: what was not found, what is doubtful
    std::optional<Surface> surface;     ///< outer surface of the tooth
    std::optional<Surface> chamber;     ///< surface of the pulp chamber

    const Canal* find(const std::string& name) const {
        for (const Canal& canal : canals) {
            if (canal.name == name) return &canal;
        }
        return nullptr;
    }
};

}  // namespace anfract
