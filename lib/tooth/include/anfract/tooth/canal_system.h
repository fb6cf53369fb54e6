#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/tooth/tooth.h"

namespace anfract {

/// How many canals lie beside one another on the way from the orifice to the foramen: {2, 1} is two
/// that become one. Equal neighbours never occur: 1-1-1 is 1, 2-1-1 is 2-1, but 1-2-1 stays.
using CanalCourse = std::vector<int>;

/// "2-1".
std::string to_string(const CanalCourse& course);

/// Reads "2-1", collapsing equal neighbours; BadInput unless digits 1 to 9 joined by "-".
Result<CanalCourse> parse_course(std::string_view text);

/// The course of canals of one root from where they join and leave one another. Meetings less than
/// 0.5 mm apart in depth count as one. @pre not empty
CanalCourse course_of(const std::vector<const Canal*>& canals);

/// "I" to "VIII" [Vertucci1984], or "non-Vertucci".
std::string vertucci_type(const CanalCourse& course);

/// The course of a type "I" to "VIII"; nothing for any other text.
std::optional<CanalCourse> course_of_vertucci(std::string_view type);

/// A root with the canals in it.
struct Root {
    std::string label;  ///< MB, DB, P, M, D, B; empty for the only root of a tooth
    std::vector<std::string> canals;
    CanalCourse course;
};

/// Groups canals into roots, in the order MB, DB, P, M, D, B, others.
///
/// By name and tooth: in upper molars MB, MB2, ML, MP, M belong to root MB, DB and D to DB, P and L
/// to P; in lower molars M, MB, ML, MM to root M and D, DB, DL to D; the upper first premolar has B
/// and P; every other tooth has one root. Canals that join or leave one another lie in one root
/// whatever their names; it is then named after both ("MB/DB"). Without a tooth number only such
/// meetings count. Roots cannot be counted from canals: an extra distolingual root of a lower
/// molar, or a single-rooted upper first premolar with two canals, is not told apart.
std::vector<Root> roots_of(const Tooth& tooth);

/// The canal system of a tooth in the notation of [Ahmed2017], written in one line: number of
/// roots, tooth, then each root with its course, as in "3 16 MB2-1 DB1 P1" or, for one root, "1 35
/// 1-2".
struct CanalCode {
    struct RootCourse {
        std::string label;
        CanalCourse course;

        bool operator==(const RootCourse&) const = default;
    };
    std::string tooth;  ///< as written, ISO 3950 or Universal
    std::vector<RootCourse> roots;

    std::string text() const;
    bool operator==(const CanalCode&) const = default;
};

enum class ToothNotation { Fdi, Universal };

/// The code of a tooth; its number must be given.
CanalCode canal_code(const Tooth& tooth, ToothNotation notation = ToothNotation::Fdi);

/// Reads such a line. BadInput when the tooth is not one, the number of roots is not that of the
/// labels, a label is missing among several roots, or a course cannot be read.
Result<CanalCode> parse_canal_code(std::string_view text,
                                   ToothNotation notation = ToothNotation::Fdi);

}  // namespace anfract
