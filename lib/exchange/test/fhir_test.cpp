#include "anfract/exchange/fhir.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "anfract/plan/cautions.h"
#include "anfract/plan/make_plan.h"
#include "anfract/plan/plan_file.h"
#include "anfract/tray/tray_file.h"
#include "made_tooth.h"

namespace anfract {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;

class Fhir : public testing::Test {
  protected:
    static void SetUpTestSuite() {
        Tooth tooth = test::tooth_with({test::straight_canal(12, 0.4)});
        tooth.invented = true;
        tooth.scan = ScanFacts{"1.2.3", {0.1, 0.1, 0.1}, 70, 0.25};
        Tray tray = generic_tray();
        tray.devices.resize(8);
        const Plan made = *make_plan(tooth, tray, {}, {});
        // As a plan file holds it: reading fills what a tooth made by hand leaves out.
        plan_ = new Plan(*plan_from_json(plan_to_json(made), "made"));
    }
    static void TearDownTestSuite() { delete plan_; }

    static json resource(const json& bundle, const std::string& type) {
        for (const json& entry : bundle["entry"]) {
            if (entry["resource"]["resourceType"] == type) return entry["resource"];
        }
        return nullptr;
    }

    static Plan* plan_;
};
Plan* Fhir::plan_ = nullptr;

TEST_F(Fhir, SaysDepthInMillimetresWithTheCautions) {
    const json seen = resource(*fhir_bundle(*plan_, {}, ""), "Observation");
    EXPECT_EQ(seen["valueQuantity"]["code"], "mm");
    EXPECT_DOUBLE_EQ(seen["valueQuantity"]["value"], plan_->canals[0].depth_to_foramen_mm);
    EXPECT_EQ(seen["bodySite"]["coding"][0]["code"], "34");
    EXPECT_EQ(seen["status"], "preliminary");
    EXPECT_EQ(seen["note"].size(), plan_cautions().size());
}

TEST_F(Fhir, EveryReferenceLeadsToAnEntry) {
    const json bundle = *fhir_bundle(*plan_, {}, "%PDF-1.7");
    std::vector<std::string> urls;
    for (const json& entry : bundle["entry"]) urls.push_back(entry["fullUrl"]);
    int seen = 0;
    const json flat = bundle.flatten();
    for (const auto& [path, value] : flat.items()) {
        if (!path.ends_with("/reference")) continue;
        EXPECT_THAT(urls, testing::Contains(value.get<std::string>())) << path;
        ++seen;
    }
    EXPECT_GE(seen, 5);
}

TEST_F(Fhir, ThePlanComesBackEqual) {
    const json bundle = *fhir_bundle(*plan_, {}, "%PDF-1.7");
    const auto back = plan_of_fhir_bundle(json::parse(bundle.dump()), "bundle.json");
    ASSERT_TRUE(back) << back.error().sentence();
    EXPECT_TRUE(plan_to_json(*back) == plan_to_json(*plan_));
}

TEST_F(Fhir, TheSamePlanGivesTheSameBundle) {
    EXPECT_EQ(*fhir_bundle(*plan_, {}, ""), *fhir_bundle(*plan_, {}, ""));
}

TEST_F(Fhir, InventedCasesAreMarked) {
    const json patient = resource(*fhir_bundle(*plan_, {}, ""), "Patient");
    EXPECT_EQ(patient["meta"]["tag"][0]["code"], "HTEST");
}

TEST_F(Fhir, RefusesDatesThatAreNone) {
    FhirSubject subject;
    subject.birth_date = "31.12.1960";
    EXPECT_THAT(fhir_bundle(*plan_, subject, "").error().sentence(), HasSubstr("is not a date"));
    subject = {};
    subject.issued = "today";
    EXPECT_THAT(fhir_bundle(*plan_, subject, "").error().sentence(), HasSubstr("not an instant"));
}

TEST_F(Fhir, RefusesBundlesWithoutAPlan) {
    const auto says = [](const json& bundle) {
        const auto plan = plan_of_fhir_bundle(bundle, "x.json");
        return plan ? std::string() : plan.error().sentence();
    };
    EXPECT_THAT(says(json::object()), HasSubstr("no working plan"));
    EXPECT_THAT(says({{"entry", {1, 2}}}), HasSubstr("no working plan"));
    json bundle = *fhir_bundle(*plan_, {}, "");
    bundle["entry"].back()["resource"]["content"][0]["attachment"]["data"] = "@@@";
    EXPECT_THAT(says(bundle), HasSubstr("x.json"));
}

}  // namespace
}  // namespace anfract
