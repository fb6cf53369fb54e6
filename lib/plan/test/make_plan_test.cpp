#include "anfract/plan/make_plan.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "anfract/plan/cautions.h"
#include "hand_made.h"

namespace anfract {
namespace {

using ::testing::HasSubstr;

/// Made once: a bent canal and a nearly straight one.
const Plan& bent_and_straight() {
    static const Plan plan = [] {
        PlanOptions options;
        options.samples = 40;
        const auto made =
            make_plan(testing::tooth({testing::canal("M", 6, 50), testing::canal("D", 40, 12)}),
                      testing::small_tray(), options);
        EXPECT_TRUE(made) << made.error().sentence();
        return made.value_or(Plan{});
    }();
    return plan;
}

const PassiveDevice* chosen(const CanalPlan& canal, Job job) {
    for (const PassiveDevice& passive : canal.passive) {
        if (passive.job == job && passive.chosen) return &passive;
    }
    return nullptr;
}

TEST(MakePlan, EveryLineRestsOnAPassageOfItsCanalAndDevice) {
    const Plan& plan = bent_and_straight();
    ASSERT_EQ(plan.canals.size(), 2u);
    const auto check = [&](const std::string& canal, const std::string& device, int index) {
        ASSERT_GE(index, 0);
        ASSERT_LT(std::size_t(index), plan.passages.size());
        const Passage& passage = plan.passages[std::size_t(index)].passage;
        EXPECT_EQ(passage.canal, canal);
        EXPECT_EQ(passage.device, device);
        EXPECT_FALSE(passage.profile.depth_mm.empty()) << device;
    };
    for (const CanalPlan& canal : plan.canals) {
        ASSERT_FALSE(canal.order.empty());
        for (const PlanStep& step : canal.order) check(canal.canal, step.device, step.passage);
        for (const PassiveDevice& passive : canal.passive)
            check(canal.canal, passive.device, passive.passage);
        ASSERT_TRUE(canal.final_size);
        check(canal.canal, canal.final_size->device, canal.final_size->passage);
        ASSERT_TRUE(canal.recapitulation);
        check(canal.canal, canal.recapitulation->device, canal.recapitulation->passage);
        ASSERT_TRUE(canal.smallest.passage);
        check(canal.canal, *canal.smallest.device, *canal.smallest.passage);
    }
}

// A curve of 6 mm bends steel beyond its elastic limit, so it is bent before: common practice, no
// source.
TEST(MakePlan, SaysHowToBendASteelFileBeforeItGoesRoundTheCurve) {
    const Plan& plan = bent_and_straight();
    int bent = 0;
    for (const CanalPlan& canal : plan.canals) {
        for (const PlanStep& step : canal.order) {
            const auto& bend = plan.passages[std::size_t(step.passage)].passage.pre_bend;
            const bool said = step.why.find("beforehand round a radius of") != std::string::npos;
            EXPECT_EQ(said, bend.has_value()) << step.why;
            if (!bend) continue;
            ++bent;
            // It must spring back to the canal, so it is bent more sharply, at its end.
            EXPECT_LT(bend->bend_to_radius_mm, bend->springs_to_radius_mm);
            EXPECT_LT(bend->to_tip_mm, 8);
        }
    }
    EXPECT_GT(bent, 0);
}

// Half a millimetre short of the foramen: common practice, no source.
TEST(MakePlan, WorkingDepthIsHalfAMillimetreShort) {
    for (const CanalPlan& canal : bent_and_straight().canals) {
        EXPECT_NEAR(canal.working_depth_mm, canal.depth_to_foramen_mm - 0.5, 1e-9);
        for (const PlanStep& step : canal.order) {
            EXPECT_LE(step.depth_mm, canal.working_depth_mm + 1e-9);
            EXPECT_LE(step.stop_setting_mm, step.depth_mm + 1e-9);
            EXPECT_GT(step.stop_setting_mm, step.depth_mm - 0.25);
        }
        EXPECT_THAT(canal.working_depth_why, HasSubstr("apex locator"));
    }
}

// After a 014 finish take a 015, not a 020: common practice, no source.
TEST(MakePlan, TheLastSmallFileDoesNotExceedTheFinalApicalSize) {
    for (const CanalPlan& canal : bent_and_straight().canals) {
        ASSERT_TRUE(canal.recapitulation);
        const Device* file = bent_and_straight().tray.find(canal.recapitulation->device);
        ASSERT_NE(file, nullptr);
        EXPECT_LE(file->tip_mm, canal.final_size->tip_mm + 0.011);
        EXPECT_LE(file->tip_mm, 0.15);
        EXPECT_EQ(file->kind, DeviceKind::HandFile);
    }
}

// The same habit through a whole plan that ends with 014.
TEST(MakePlan, ChecksTheDepthWith015AfterA014Finish) {
    Tray tray;
    for (const Device& device : generic_tray().devices) {
        const bool wanted = device.kind == DeviceKind::HandFile || device.tip_mm < 0.145;
        if (device.cuts() && device.length_mm == 25 && device.taper < 0.025 && wanted)
            tray.devices.push_back(device);
    }
    // Hand files stay for the last check only: in the bend steel keeps its bend.
    PlanOptions options;
    options.samples = 0;
    const auto plan =
        make_plan(testing::tooth({testing::canal("M", 4.5, 50, 0.18)}), tray, options);
    ASSERT_TRUE(plan) << plan.error().sentence();
    const CanalPlan& canal = plan->canals.front();
    ASSERT_TRUE(canal.final_size && canal.recapitulation);
    EXPECT_EQ(canal.final_size->device, "rotary-014-02-25") << canal.final_size->why;
    EXPECT_EQ(canal.recapitulation->device, "hand-015-25");
}

// A stainless plugger stops at the curve and a nickel-titanium one goes round it: common practice,
// no source.
TEST(MakePlan, ASteelPluggerStopsAtTheCurveAndANickelTitaniumOnePasses) {
    PlanOptions options;
    options.samples = 0;
    options.devices_per_job = 100;
    Canal wide = testing::canal("M", 6, 90, 0.45, 1.2, 4);
    for (CanalSample& sample : wide.samples)
        sample.diameter_mm = sample.diameter_short_mm = sample.diameter_long_mm =
            std::max(sample.diameter_mm, 0.9);
    const auto plan = make_plan(testing::tooth({wide}), testing::small_tray(), options);
    ASSERT_TRUE(plan) << plan.error().sentence();
    double steel_mm = 0, niti_mm = 0;
    for (const PassiveDevice& passive : plan->canals.front().passive) {
        if (passive.device == "plugger-steel-050") steel_mm = passive.reaches_mm;
        if (passive.device == "plugger-niti-050") niti_mm = passive.reaches_mm;
    }
    const double bend = 8 + 4;
    EXPECT_GT(steel_mm, bend - 2);
    EXPECT_GT(niti_mm, steel_mm + 0.5);
    EXPECT_GT(niti_mm, bend + 0.5);
}

TEST(MakePlan, ThicknessLeftIsThatOfTheShapedCanal) {
    for (const CanalPlan& canal : bent_and_straight().canals) {
        ASSERT_TRUE(canal.order.back().wall_left_mm);
        double thinnest = 1e9;
        for (std::size_t i = 0; i < canal.lumen_after.depth_mm.size(); ++i) {
            // The last 2 mm, where a root thins out, are no finding.
            if (canal.lumen_after.depth_mm[i] > canal.depth_to_foramen_mm - 2) continue;
            thinnest = std::min(thinnest, canal.lumen_after.wall_min_mm[i].value_or(1e9));
        }
        EXPECT_NEAR(*canal.order.back().wall_left_mm, thinnest, 1e-9);
        EXPECT_GE(thinnest, 0.4 - 1e-9);  // 0.3 mm and 0.1 mm for the measurement
    }
}

TEST(MakePlan, PassiveDevicesKeepTheirDistance) {
    for (const CanalPlan& canal : bent_and_straight().canals) {
        ASSERT_TRUE(chosen(canal, Job::Rinse)) << canal.canal;
        EXPECT_LE(chosen(canal, Job::Rinse)->reaches_mm, canal.working_depth_mm - 1 + 1e-9);
        if (const auto* plugger = chosen(canal, Job::Compact)) {
            EXPECT_LE(plugger->reaches_mm, canal.working_depth_mm - 4 + 1e-9);
        }
        for (const PassiveDevice& passive : canal.passive) {
            EXPECT_LE(passive.reaches_mm, canal.working_depth_mm + 1e-9) << passive.device;
        }
    }
}

// The cone has the size of the final file (common practice, no source), give or take a size. One
// that stops a tenth of a millimetre short was once passed over for a 015 that did not.
TEST(MakePlan, TheConeIsAsThickAsTheFinalFile) {
    for (const CanalPlan& canal : bent_and_straight().canals) {
        const PassiveDevice* cone = chosen(canal, Job::Fit);
        ASSERT_TRUE(cone && canal.final_size);
        const double tip_mm = bent_and_straight().tray.find(cone->device)->tip_mm;
        EXPECT_NEAR(tip_mm, canal.final_size->tip_mm, 0.051) << cone->device;
    }
}

// A cone's diameter tolerance of 0.05 mm (ISO 6877, from memory) moves its end by dd / taper: 2.50
// mm at 0.02.
TEST(MakePlan, ConeCarriesTheBandOfItsTolerance) {
    const Plan& plan = bent_and_straight();
    for (const CanalPlan& canal : plan.canals) {
        const PassiveDevice* cone = chosen(canal, Job::Fit);
        ASSERT_TRUE(cone);
        ASSERT_TRUE(cone->band_mm);
        const Device* device = plan.tray.find(cone->device);
        EXPECT_NEAR(cone->reaches_mm - cone->band_mm->first, device->tolerance_mm / device->taper,
                    1e-9);
        EXPECT_LE(cone->band_mm->second, canal.depth_to_foramen_mm + 1e-9);
    }
}

// A cone that is thinner than the canal where it should hold is trimmed by the difference over its
// taper, 0.10 mm / 0.04 = 2.5 mm: common practice, no source. What is left is thicker by as much
// all along: a neck of 0.50 mm, 5.5 mm above its end, where it had 0.47 mm, takes 0.75 mm of it,
// and 1.25 mm when it may end 0.5 mm short.
TEST(MakePlan, ALooseConeIsTrimmedUntilItHolds) {
    const auto why = [](double tip_mm, double neck_mm = 1.2) {
        Tray tray;
        for (const Device& device : generic_tray().devices) {
            const bool scout = device.id == "hand-010-25" || device.id == "hand-015-25";
            if (scout) tray.devices.push_back(device);
        }
        Device cone;
        cone.id = "cone";
        cone.kind = DeviceKind::Cone;
        cone.material = generic_tray().find("cone-025-02")->material;
        cone.section = generic_tray().find("cone-025-02")->section;
        cone.tip_mm = tip_mm;
        cone.taper = 0.04;
        cone.working_part_mm = 28;
        cone.length_mm = 28;
        tray.devices.push_back(cone);
        Canal even = testing::canal("D", 60, 8);
        for (CanalSample& sample : even.samples)
            sample.diameter_mm = sample.diameter_short_mm = sample.diameter_long_mm = 1.2;
        PlanOptions options;
        options.samples = 0;
        // The canal narrows to 0.35 mm in its last 0.8 mm only; the working depth is 0.5 mm short.
        for (CanalSample& sample : even.samples) {
            if (sample.depth_mm > even.depth_to_foramen_mm - 0.8)
                sample.diameter_mm = sample.diameter_short_mm = sample.diameter_long_mm = 0.35;
            else if (sample.depth_mm > even.depth_to_foramen_mm - 6)
                sample.diameter_mm = sample.diameter_short_mm = sample.diameter_long_mm = neck_mm;
        }
        const auto plan = make_plan(testing::tooth({even}), tray, options);
        EXPECT_TRUE(plan) << plan.error().sentence();
        return chosen(plan->canals.front(), Job::Fit)->why;
    };
    EXPECT_THAT(why(0.25), HasSubstr("trim about 2.5 mm from its tip"));
    EXPECT_THAT(why(0.25, 0.5), HasSubstr("with more than 1.2 mm trimmed"));
    EXPECT_THAT(why(0.20), HasSubstr("too much to trim"));
    EXPECT_THAT(why(0.36), ::testing::Not(HasSubstr("Loose")));
}

TEST(MakePlan, SaysWhenTheFinalSizeHardlyTouchesAWideCanal) {
    Canal wide = testing::canal("D", 3.5, 60, 0.5);
    for (CanalSample& sample : wide.samples)
        sample.diameter_mm = sample.diameter_short_mm = sample.diameter_long_mm = 0.7;
    PlanOptions options;
    options.samples = 0;
    const auto plan = make_plan(testing::tooth({wide}), testing::small_tray(), options);
    ASSERT_TRUE(plan) << plan.error().sentence();
    ASSERT_TRUE(plan->canals.front().final_size && plan->canals.front().removal);
    ASSERT_GE(plan->canals.front().removal->untouched_share, 0.9);
    const bool said =
        std::any_of(plan->warnings.begin(), plan->warnings.end(), [](const PlanWarning& warning) {
            return warning.text.starts_with("The files of this order hardly touch the wall");
        });
    EXPECT_TRUE(said);
}

TEST(MakePlan, SaysWhenOnlyAScoutingFileGetsDown) {
    Tray tray;
    tray.devices.push_back(*generic_tray().find("hand-008-25"));
    const auto plan = make_plan(testing::tooth({testing::canal("D", 12, 20)}), tray);
    ASSERT_TRUE(plan) << plan.error().sentence();
    const CanalPlan& canal = plan->canals.front();
    EXPECT_TRUE(only_finds_the_way(canal));
    ASSERT_TRUE(canal.final_size);
    EXPECT_THAT(canal.final_size->why, HasSubstr("Nothing widens this canal"));
    EXPECT_EQ(plan->warnings.front().severity, 3);
    EXPECT_THAT(plan->warnings.front().text, HasSubstr("Only a scouting file"));
}

TEST(MakePlan, WarnsOfTheBendAndSortsTheWorstFirst) {
    const Plan& plan = bent_and_straight();
    bool bend = false;
    for (std::size_t i = 0; i < plan.warnings.size(); ++i) {
        EXPECT_LE(plan.warnings[i].severity, plan.warnings[i == 0 ? 0 : i - 1].severity);
        bend =
            bend || (plan.warnings[i].canal == "M" && plan.warnings[i].reason == "Radius 6.0 mm.");
    }
    EXPECT_TRUE(bend);
    EXPECT_EQ(plan.cautions, plan_cautions());
    EXPECT_TRUE(plan.invented);
}

TEST(MakePlan, SaysWhatIsMissingAndTheOneItemThatWouldChangeIt) {
    Tray tray;
    for (const Device& device : generic_tray().devices) {
        if (device.id == "hand-030-25" || device.id == "hand-040-25")
            tray.devices.push_back(device);
    }
    const auto plan = make_plan(testing::tooth({testing::canal("M", 5, 50, 0.12)}), tray);
    ASSERT_TRUE(plan) << plan.error().sentence();
    const CanalPlan& canal = plan->canals.front();
    EXPECT_FALSE(canal.final_size);
    EXPECT_FALSE(canal.smallest.reaches_working_depth);
    ASSERT_FALSE(canal.notes.empty());
    EXPECT_THAT(canal.notes.front(), HasSubstr("Hand file 030"));
    EXPECT_THAT(canal.notes.front(), HasSubstr("stops at"));
    EXPECT_THAT(canal.notes.front(), HasSubstr("one item that would change this: hand file 0"));
    ASSERT_FALSE(plan->warnings.empty());
    EXPECT_EQ(plan->warnings.front().severity, 3);
}

TEST(MakePlan, SaysWhenTheTrayIsTooShort) {
    Tray tray;
    for (const Device& device : generic_tray().devices) {
        if (device.cuts() && device.length_mm == 21) tray.devices.push_back(device);
    }
    Canal deep = testing::canal("M", 40, 10, 0.2, 1.2, 10);
    for (CanalSample& sample : deep.samples) sample.depth_mm += 4;
    deep.depth_to_foramen_mm += 4;
    const auto plan = make_plan(testing::tooth({deep}), tray);
    ASSERT_TRUE(plan) << plan.error().sentence();
    ASSERT_FALSE(plan->canals.front().notes.empty());
    // 12 mm to the orifice, 17 mm of canal, less 0.5 mm, and 2 mm for the stop: 28 mm will not do.
    EXPECT_THAT(plan->canals.front().notes.front(), HasSubstr("long enough"));
    EXPECT_THAT(plan->canals.front().notes.front(), HasSubstr("hand file 010, 31 mm"));
}

TEST(MakePlan, RefusesAToothWithoutCanals) {
    const auto plan = make_plan(testing::tooth({}), testing::small_tray());
    ASSERT_FALSE(plan);
    EXPECT_EQ(plan.error().code, ErrorCode::BadInput);
    EXPECT_FALSE(plan.error().remedy.empty());
}

TEST(MakePlan, StopsWhenItIsToldTo) {
    Progress progress;
    progress.cancel();
    const auto plan = make_plan(testing::tooth({testing::canal("M", 6, 50)}), testing::small_tray(),
                                {}, progress);
    ASSERT_FALSE(plan);
    EXPECT_EQ(plan.error().code, ErrorCode::Cancelled);
}

}  // namespace
}  // namespace anfract
