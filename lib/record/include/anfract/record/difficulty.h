#pragma once

#include <optional>
#include <string>
#include <vector>

namespace anfract::record {

enum class Grade { Low, Moderate, High };

std::string to_string(Grade grade);

/// What is measured of a canal and bears on difficulty and risk.
struct CanalAnatomy {
    std::string canal;
    std::optional<double> presence;  ///< probability that it exists
    double curvature_deg = 0;        ///< Schneider angle in the worst view
    bool s_shaped = false;
    std::optional<double> apex_mm;  ///< diameter 1 mm from the foramen
    std::optional<double> wall_mm;  ///< thinnest dentine beside it
    std::optional<double> wall_depth_mm;
};

/// One factor with its grade, and what it rests on.
struct Factor {
    std::string factor;
    Grade grade = Grade::Low;
    std::string because;
};

/// The factors that the anatomy gives: curvature low below 10, high above 30 degrees or with an S;
/// apex low below 1, high above 1.5 mm [AAE2022]. The bounds of moderate and high are from memory.
std::vector<Factor> measured_factors(const std::vector<CanalAnatomy>& canals);

/// High from one high or three moderate factors on, moderate from one moderate on [AAE2022].
Grade overall(const std::vector<Factor>& factors);

/// A point to be explained before the patient consents, and why it belongs to this tooth.
struct ConsentPoint {
    std::string point;
    std::string because;
};

/// The points that follow from this tooth's risks, those of every root canal treatment last (common
/// practice, no source). @param fdi  by ISO 3950; may be empty
std::vector<ConsentPoint> consent_points(const std::string& fdi,
                                         const std::vector<CanalAnatomy>& canals, Grade difficulty);

}  // namespace anfract::record
