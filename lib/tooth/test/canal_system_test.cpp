#include "anfract/tooth/canal_system.h"

#include <gtest/gtest.h>

namespace anfract {
namespace {

/// A canal with meetings and nothing else; the class depends on no geometry.
Canal canal(const std::string& name, std::optional<Branching> leaves = {},
            std::optional<Branching> joins = {}) {
    Canal result;
    result.name = name;
    result.leaves = std::move(leaves);
    result.joins = std::move(joins);
    return result;
}

std::string course(const std::vector<Canal>& canals) {
    std::vector<const Canal*> pointers;
    for (const Canal& c : canals) pointers.push_back(&c);
    return to_string(course_of(pointers));
}

Tooth tooth(const std::string& fdi, std::vector<Canal> canals) {
    Tooth result;
    result.fdi = fdi;
    result.canals = std::move(canals);
    return result;
}

const Branching a10{"A", 10}, a12{"A", 12}, a15{"A", 15};

// Orifice-body-foramen of the eight types [Vertucci1984], from memory.
TEST(CanalCourse, OfEachVertucciType) {
    const std::pair<std::vector<Canal>, const char*> cases[] = {
        {{canal("A")}, "I"},
        {{canal("A"), canal("B", {}, a12)}, "II"},
        {{canal("A"), canal("B", a10, a15)}, "III"},
        {{canal("A"), canal("B")}, "IV"},
        {{canal("A"), canal("B", a12)}, "V"},
        {{canal("A"), canal("B", {}, a10), canal("C", a15)}, "VI"},
        {{canal("A"), canal("B", a10, a12), canal("C", a15)}, "VII"},
        {{canal("A"), canal("B"), canal("C")}, "VIII"}};
    for (const auto& [canals, type] : cases) {
        std::vector<const Canal*> pointers;
        for (const Canal& c : canals) pointers.push_back(&c);
        EXPECT_EQ(vertucci_type(course_of(pointers)), type);
    }
}

TEST(CanalCourse, OfWhatVertucciDidNotList) {
    EXPECT_EQ(course({canal("A"), canal("B", {}, a10), canal("C", {}, a15)}), "3-2-1");
    EXPECT_EQ(course({canal("A"), canal("B", {}, a12), canal("C", {}, Branching{"A", 12.2})}),
              "3-1");
    EXPECT_EQ(vertucci_type({3, 1}), "non-Vertucci");
    // Joining first and leaving later: two orifices, one body, two foramina.
    EXPECT_EQ(course({canal("A"), canal("B", a15, a10)}), "2-1-2");
}

TEST(CanalCourse, CountsAMeetingToldFromBothSidesOnce) {
    EXPECT_EQ(course({canal("A", {}, Branching{"B", 12.3}), canal("B", {}, a12)}), "2-1");
}

TEST(CanalCourse, OverlooksAnIsland) {
    EXPECT_EQ(course({canal("A"), canal("B", a10, Branching{"A", 10.3})}), "1");
}

TEST(CanalCourse, CollapsesEqualNeighboursOnly) {
    EXPECT_EQ(to_string(*parse_course("1-1-1")), "1");
    EXPECT_EQ(to_string(*parse_course("2-1-1")), "2-1");
    EXPECT_EQ(to_string(*parse_course("1-2-2")), "1-2");
    EXPECT_EQ(to_string(*parse_course("1-2-1")), "1-2-1");
    for (const char* text : {"", "-", "1-", "-1", "0", "1--2", "12", "a", "2-0"}) {
        EXPECT_FALSE(parse_course(text)) << text;
    }
}

TEST(CanalCourse, GoesFromVertucciAndBack) {
    for (const char* type : {"I", "II", "III", "IV", "V", "VI", "VII", "VIII"}) {
        EXPECT_EQ(vertucci_type(*course_of_vertucci(type)), type);
    }
    EXPECT_FALSE(course_of_vertucci("IX"));
    EXPECT_FALSE(course_of_vertucci("non-Vertucci"));
}

// The published examples of the notation [Ahmed2017], as one line each.
TEST(CanalCode, DescribesTeethAsPublished) {
    const Branching mb{"MB", 14};
    EXPECT_EQ(canal_code(tooth("11", {canal("C")})).text(), "1 11 1");
    EXPECT_EQ(canal_code(tooth("35", {canal("B"), canal("L", Branching{"B", 12})})).text(),
              "1 35 1-2");
    EXPECT_EQ(canal_code(tooth("14", {canal("P"), canal("B")})).text(), "2 14 B1 P1");
    EXPECT_EQ(canal_code(tooth("36", {canal("MB"), canal("ML"), canal("D")})).text(), "2 36 M2 D1");
    EXPECT_EQ(canal_code(tooth("36", {canal("MB"), canal("ML", {}, mb), canal("D")})).text(),
              "2 36 M2-1 D1");
    EXPECT_EQ(canal_code(tooth("16", {canal("P"), canal("DB"), canal("MB"), canal("MB2", {}, mb)}))
                  .text(),
              "3 16 MB2-1 DB1 P1");
    EXPECT_EQ(canal_code(tooth("16", {canal("MB"), canal("MB2", Branching{"MB", 10}, mb),
                                      canal("DB"), canal("P")}),
                         ToothNotation::Universal)
                  .text(),
              "3 3 MB1-2-1 DB1 P1");
}

TEST(CanalCode, ReadsWhatItWrites) {
    for (const char* text :
         {"1 11 1", "1 35 1-2", "2 14 B1 P1", "2 36 M2-1 D1", "3 16 MB1-2-1 DB1 P1"}) {
        const auto code = parse_canal_code(text);
        ASSERT_TRUE(code) << text;
        EXPECT_EQ(code->text(), text);
    }
    EXPECT_EQ(parse_canal_code("3 16 MB2-1-1 DB1 P1-1")->text(), "3 16 MB2-1 DB1 P1");
    EXPECT_EQ(parse_canal_code("2 19 M2 D1", ToothNotation::Universal)->tooth, "19");
}

TEST(CanalCode, RefusesWhatMakesNoSense) {
    for (const char* text :
         {"", "1", "1 19 1", "2 36 M2", "1 36 M2 D1", "2 36 2 1", "1 11 x", "1 11 M"}) {
        EXPECT_FALSE(parse_canal_code(text)) << text;
    }
}

TEST(Roots, CanalsThatMeetShareARootWhateverTheirNames) {
    const auto fused =
        roots_of(tooth("17", {canal("MB"), canal("DB", {}, Branching{"MB", 12}), canal("P")}));
    ASSERT_EQ(fused.size(), 2u);
    EXPECT_EQ(fused[0].label, "MB/DB");
    EXPECT_EQ(to_string(fused[0].course), "2-1");
    const auto premolar = roots_of(tooth("24", {canal("B"), canal("P", {}, Branching{"B", 12})}));
    ASSERT_EQ(premolar.size(), 1u);
    EXPECT_EQ(premolar[0].label, "");
}

TEST(Roots, WithoutAToothNumberOnlyMeetingsAndNamesCount) {
    const auto roots =
        roots_of(tooth("", {canal("canal 1"), canal("canal 2", {}, Branching{"canal 1", 9})}));
    ASSERT_EQ(roots.size(), 1u);
    EXPECT_EQ(vertucci_type(roots[0].course), "II");
}

}  // namespace
}  // namespace anfract
