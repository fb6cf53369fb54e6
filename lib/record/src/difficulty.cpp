#include "anfract/record/difficulty.h"

#include <algorithm>
#include <array>
#include <cstdio>

namespace anfract::record {
namespace {

std::string rounded(double value, int digits) {
    std::array<char, 32> text{};
    std::snprintf(text.data(), text.size(), "%.*f", digits, value);
    return text.data();
}

std::string curve_text(const CanalAnatomy& canal) {
    return "canal " + canal.canal + " bends by " + rounded(canal.curvature_deg, 0) + " degrees" +
           (canal.s_shaped ? " and twice, in an S" : "");
}

Factor curvature_factor(const CanalAnatomy& canal) {
    const Grade grade = canal.s_shaped || canal.curvature_deg > 30 ? Grade::High
                        : canal.curvature_deg >= 10                ? Grade::Moderate
                                                                   : Grade::Low;
    return {"curvature", grade, curve_text(canal)};
}

Factor apex_factor(const CanalAnatomy& canal) {
    const double apex_mm = canal.apex_mm.value_or(0);
    const Grade grade = apex_mm > 1.5 ? Grade::High : apex_mm >= 1 ? Grade::Moderate : Grade::Low;
    return {"apex", grade,
            "canal " + canal.canal + " is " + rounded(apex_mm, 2) + " mm wide near its end"};
}

bool lower_side_tooth(const std::string& fdi) {
    return fdi.size() == 2 && (fdi[0] == '3' || fdi[0] == '4') && fdi[1] >= '4';
}

bool upper_side_tooth(const std::string& fdi) {
    return fdi.size() == 2 && (fdi[0] == '1' || fdi[0] == '2') && fdi[1] >= '4';
}

void add_canal_points(const CanalAnatomy& canal, std::vector<ConsentPoint>& points) {
    if (canal.s_shaped || canal.curvature_deg >= 10) {
        points.push_back({"An instrument can break in the canal and may have to stay there.",
                          curve_text(canal)});
        points.push_back(
            {"It may not be possible to follow the canal to its end.", curve_text(canal)});
    }
    if (canal.wall_mm && *canal.wall_mm < 1) {
        points.push_back({"The root can be perforated where its wall is thin.",
                          "beside canal " + canal.canal + " it is " + rounded(*canal.wall_mm, 1) +
                              " mm thick at " + rounded(canal.wall_depth_mm.value_or(0), 1) +
                              " mm depth"});
    }
    if (canal.apex_mm && *canal.apex_mm >= 1) {
        points.push_back({"Rinsing solution or filling can pass the end of the root.",
                          apex_factor(canal).because});
    }
    if (canal.presence && *canal.presence < 0.9) {
        points.push_back({"A canal may not be found, or not be there; more treatment can follow.",
                          "canal " + canal.canal + " is there with a probability of " +
                              rounded(*canal.presence, 2)});
    }
}

}  // namespace

std::string to_string(Grade grade) {
    constexpr std::array names{"low", "moderate", "high"};
    return names[static_cast<std::size_t>(grade)];
}

std::vector<Factor> measured_factors(const std::vector<CanalAnatomy>& canals) {
    std::vector<Factor> worst;
    // One factor of each kind, that of the worst canal: the form asks about the tooth.
    for (const auto& factor_of : {curvature_factor, apex_factor}) {
        std::optional<Factor> found;
        double extreme = -1;
        for (const CanalAnatomy& canal : canals) {
            if (factor_of == apex_factor && !canal.apex_mm) continue;
            const Factor factor = factor_of(canal);
            const double size = factor_of == apex_factor ? *canal.apex_mm : canal.curvature_deg;
            if (found &&
                (factor.grade < found->grade || (factor.grade == found->grade && size <= extreme)))
                continue;
            found = factor;
            extreme = size;
        }
        if (found) worst.push_back(*found);
    }
    return worst;
}

Grade overall(const std::vector<Factor>& factors) {
    const auto count = [&](Grade grade) {
        return std::count_if(factors.begin(), factors.end(),
                             [&](const Factor& factor) { return factor.grade == grade; });
    };
    if (count(Grade::High) >= 1 || count(Grade::Moderate) >= 3) return Grade::High;
    return count(Grade::Moderate) >= 1 ? Grade::Moderate : Grade::Low;
}

std::vector<ConsentPoint> consent_points(const std::string& fdi,
                                         const std::vector<CanalAnatomy>& canals,
                                         Grade difficulty) {
    std::vector<ConsentPoint> points;
    for (const CanalAnatomy& canal : canals) add_canal_points(canal, points);
    if (lower_side_tooth(fdi)) {
        points.push_back({"A nerve of the lower jaw can be irritated; numbness can follow.",
                          "tooth " + fdi + " stands above it"});
    }
    if (upper_side_tooth(fdi)) {
        points.push_back({"The maxillary sinus can be opened or irritated.",
                          "tooth " + fdi + " stands below it"});
    }
    if (difficulty == Grade::High) {
        points.push_back({"The treatment is difficult and can take several visits.",
                          "the difficulty of this tooth is high"});
    }
    for (const char* point :
         {"Pain and swelling can follow a visit; say whom to call.",
          "The treatment can fail, also years later; the tooth may then need another treatment or "
          "be lost.",
          "The tooth needs a tight and lasting restoration soon afterwards.",
          "The other ways, with their risks: no treatment, extraction, surgery."})
        points.push_back({point, "every root canal treatment"});
    return points;
}

}  // namespace anfract::record
