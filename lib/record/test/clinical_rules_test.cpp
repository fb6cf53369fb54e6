#include <gmock/gmock.h>

#include "anfract/record/diagnosis.h"
#include "anfract/record/difficulty.h"
#include "anfract/record/follow_up.h"

namespace anfract::record {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

// ---- difficulty: the rule of the form of the AAE, 2022 ----

std::vector<Factor> factors(int moderate, int high) {
    std::vector<Factor> made{{"isolation", Grade::Low, ""}};
    made.insert(made.end(), moderate, {"inclination", Grade::Moderate, ""});
    made.insert(made.end(), high, {"trauma", Grade::High, ""});
    return made;
}

TEST(Difficulty, IsHighFromThreeModerateFactorsOn) {
    EXPECT_EQ(overall({}), Grade::Low);
    EXPECT_EQ(overall(factors(0, 0)), Grade::Low);
    EXPECT_EQ(overall(factors(1, 0)), Grade::Moderate);
    EXPECT_EQ(overall(factors(2, 0)), Grade::Moderate);
    EXPECT_EQ(overall(factors(3, 0)), Grade::High);
    EXPECT_EQ(overall(factors(0, 1)), Grade::High);
}

CanalAnatomy canal(double curvature_deg, double apex_mm, bool s_shaped = false) {
    CanalAnatomy made;
    made.canal = "MB";
    made.curvature_deg = curvature_deg;
    made.apex_mm = apex_mm;
    made.s_shaped = s_shaped;
    return made;
}

Grade measured(const CanalAnatomy& one, std::size_t which) {
    return measured_factors({one}).at(which).grade;
}

// AAE case difficulty form 2022: curvature low below 10, moderate 10 to 30, high above 30 degrees
// or S-shaped; apex low below 1, moderate 1 to 1.5, high above 1.5 mm (the last bounds from
// memory).
TEST(Difficulty, GradesTheMeasuredAnatomy) {
    EXPECT_EQ(measured(canal(9.9, 0.3), 0), Grade::Low);
    EXPECT_EQ(measured(canal(10, 0.3), 0), Grade::Moderate);
    EXPECT_EQ(measured(canal(30, 0.3), 0), Grade::Moderate);
    EXPECT_EQ(measured(canal(30.1, 0.3), 0), Grade::High);
    EXPECT_EQ(measured(canal(12, 0.3, true), 0), Grade::High);
    EXPECT_EQ(measured(canal(5, 0.99), 1), Grade::Low);
    EXPECT_EQ(measured(canal(5, 1.0), 1), Grade::Moderate);
    EXPECT_EQ(measured(canal(5, 1.6), 1), Grade::High);
    // One factor for the tooth: three moderate canals are one moderate factor.
    EXPECT_EQ(overall(measured_factors({canal(20, 0.3), canal(22, 0.3), canal(25, 0.3)})),
              Grade::Moderate);
    EXPECT_THAT(measured_factors({canal(20, 0.3), canal(25, 0.3)})[0].because, HasSubstr("25"));
    EXPECT_THAT(measured_factors({}), IsEmpty());
}

TEST(Consent, FollowsFromTheRisksOfThisTooth) {
    const auto texts = [](const std::vector<ConsentPoint>& points) {
        std::string all;
        for (const ConsentPoint& point : points) all += point.point + " (" + point.because + ")\n";
        return all;
    };
    CanalAnatomy thin = canal(35, 0.3);
    thin.wall_mm = 0.7;
    thin.wall_depth_mm = 12.4;
    thin.presence = 0.6;
    const std::string risky = texts(consent_points("36", {thin}, Grade::High));
    EXPECT_THAT(risky, HasSubstr("break in the canal"));
    EXPECT_THAT(risky, HasSubstr("0.7 mm thick at 12.4 mm depth"));
    EXPECT_THAT(risky, HasSubstr("probability of 0.60"));
    EXPECT_THAT(risky, HasSubstr("nerve of the lower jaw"));
    const std::string plain = texts(consent_points("11", {canal(2, 0.3)}, Grade::Low));
    for (const char* absent : {"break", "perforated", "nerve", "sinus", "difficult"})
        EXPECT_THAT(plain, ::testing::Not(HasSubstr(absent)));
    EXPECT_THAT(plain, HasSubstr("can fail"));
    EXPECT_THAT(texts(consent_points("16", {}, Grade::Low)), HasSubstr("sinus"));
}

// ---- codes: ICD-10-CM, chapter K04 ----

TEST(Diagnosis, GivesTheCodesOfTheTerms) {
    const auto codes = [](const char* pulpal, const char* apical) {
        std::vector<std::string> found;
        for (const DiagnosisCode& code : icd10_of(pulpal, apical)) found.push_back(code.code);
        return found;
    };
    EXPECT_THAT(codes("reversible-pulpitis", "normal-apical-tissues"), ElementsAre("K04.01"));
    EXPECT_THAT(codes("symptomatic-irreversible-pulpitis", "symptomatic-apical-periodontitis"),
                ElementsAre("K04.02", "K04.4"));
    EXPECT_THAT(codes("pulp-necrosis", "asymptomatic-apical-periodontitis"),
                ElementsAre("K04.1", "K04.5"));
    // .7 is an abscess without, .6 one with a sinus tract, whatever the words suggest.
    EXPECT_THAT(codes("pulp-necrosis", "acute-apical-abscess"), ElementsAre("K04.1", "K04.7"));
    EXPECT_THAT(codes("pulp-necrosis", "chronic-apical-abscess"), ElementsAre("K04.1", "K04.6"));
    EXPECT_THAT(codes("", ""), IsEmpty());
}

// ---- outcome: ESE 2006, from memory ----

TEST(Outcome, FollowsTheGuidelinesOfTheEse) {
    EXPECT_EQ(outcome_by_ese({1, false, true, false, "none"}), "favourable");
    EXPECT_EQ(outcome_by_ese({1, false, false, false, "smaller"}), "uncertain");
    EXPECT_EQ(outcome_by_ese({3.9, false, false, false, "same"}), "uncertain");
    EXPECT_EQ(outcome_by_ese({4, false, false, false, "smaller"}), "unfavourable");
    EXPECT_EQ(outcome_by_ese({1, false, false, false, "new"}), "unfavourable");
    EXPECT_EQ(outcome_by_ese({1, false, false, false, "larger"}), "unfavourable");
    EXPECT_EQ(outcome_by_ese({1, true, true, false, "none"}), "unfavourable");
    EXPECT_EQ(outcome_by_ese({1, false, true, true, "none"}), "unfavourable");
    EXPECT_EQ(outcome_by_ese({1, std::nullopt, true, false, "none"}), "not known");
    EXPECT_EQ(outcome_by_ese({1, false, true, false, ""}), "not known");
}

TEST(Recalls, ComeAfterOneYearAndYearlyUpToFour) {
    EXPECT_THAT(recall_dates("2026-01-31").value(),
                ElementsAre("2027-01-31", "2028-01-31", "2029-01-31", "2030-01-31"));
    EXPECT_THAT(recall_dates("2028-02-29").value()[0], "2029-02-28");
    EXPECT_FALSE(recall_dates("2026-02-30"));
    EXPECT_NEAR(years_between("2026-01-31", "2030-01-31").value(), 4, 1e-12);
    EXPECT_LT(years_between("2026-01-31", "2030-01-30").value(), 4);
    EXPECT_FALSE(years_between("2026-01-31", "soon"));
}

}  // namespace
}  // namespace anfract::record
