#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "anfract/geometry/polyline.h"
#include "anfract/phantom/phantom.h"
#include "anfract/tooth/sampled_line.h"
#include "anfract/tracing/trace_session.h"
#include "trial.h"

namespace anfract::truth {
namespace {

const CanalSample& nearest(const Canal& canal, const Vec3& point_P) {
    return *std::min_element(canal.samples.begin(), canal.samples.end(),
                             [&](const CanalSample& a, const CanalSample& b) {
                                 return (a.point_P - point_P).norm() < (b.point_P - point_P).norm();
                             });
}

/// One small upper molar, whose MB2 joins MB, traced once for all tests of this file.
class Session : public testing::Test {
  protected:
    static void SetUpTestSuite() {
        PhantomOptions options;
        options.kind = "upper-molar";
        options.voxel_mm = 0.2;
        const auto phantom = make_phantom(options, Progress());
        ASSERT_TRUE(phantom);
        const TraceRequest request = request_for(*phantom);
        auto opened = TraceSession::open(phantom->volume, request, Progress());
        ASSERT_TRUE(opened);
        session_ = new TraceSession(std::move(*opened));
        auto traced = trace(phantom->volume, request, Progress());
        ASSERT_TRUE(traced);
        plain_ = new Tooth(std::move(*traced));
        truth_ = new Tooth(phantom->truth);
    }
    static void TearDownTestSuite() {
        delete session_;
        delete plain_;
        delete truth_;
    }

    static Vec3 middle_of(const Canal& canal, double share = 0.5) {
        const Polyline line = sampled_line(canal);
        return line.at(share * line.length_mm());
    }

    static TraceSession* session_;
    static Tooth* plain_;
    static Tooth* truth_;
};
TraceSession* Session::session_ = nullptr;
Tooth* Session::plain_ = nullptr;
Tooth* Session::truth_ = nullptr;

void expect_same(const Tooth& a, const Tooth& b) {
    ASSERT_EQ(a.canals.size(), b.canals.size());
    EXPECT_EQ(a.findings, b.findings);
    for (std::size_t n = 0; n < a.canals.size(); ++n) {
        EXPECT_EQ(a.canals[n].name, b.canals[n].name);
        ASSERT_EQ(a.canals[n].samples.size(), b.canals[n].samples.size());
        for (std::size_t m = 0; m < a.canals[n].samples.size(); ++m) {
            EXPECT_EQ(a.canals[n].samples[m].point_P, b.canals[n].samples[m].point_P);
            EXPECT_EQ(a.canals[n].samples[m].diameter_mm, b.canals[n].samples[m].diameter_mm);
        }
    }
}

TEST_F(Session, TracesAsTraceDoes) { expect_same(session_->traced(), *plain_); }

TEST_F(Session, PutsAMovedPointWhereTheUserPutItAndLeavesTheRest) {
    const Canal& before = *session_->traced().find("DB");
    const Vec3 from = middle_of(before);
    const Vec3 to = from + Vec3(0.25, 0.2, 0);
    const auto edited = session_->edited({MovePoint{"DB", from, to}});
    ASSERT_TRUE(edited) << edited.error().sentence();
    const Canal& after = *edited->find("DB");
    EXPECT_LT(sampled_line(after).nearest(to).distance_mm, 0.02);
    EXPECT_TRUE(after.by_hand);
    // 3 mm away nothing moves by more than the smoothing lets through.
    for (const CanalSample& sample : after.samples) {
        if ((sample.point_P - to).norm() < 3) continue;
        EXPECT_LT(sampled_line(before).nearest(sample.point_P).distance_mm, 0.03);
    }
    // A canal of another root does not change at all.
    EXPECT_EQ(edited->find("P")->foramen_P, session_->traced().find("P")->foramen_P);
}

TEST_F(Session, EndsACanalWhereTheUserEndsIt) {
    const Canal& before = *session_->traced().find("P");
    const Polyline line = sampled_line(before);
    const Vec3 to = line.at(line.length_mm() - 1.0);
    const auto edited = session_->edited({MovePoint{"P", before.foramen_P, to}});
    ASSERT_TRUE(edited) << edited.error().sentence();
    EXPECT_LT((edited->find("P")->foramen_P - to).norm(), 0.02);
    EXPECT_NEAR(edited->find("P")->depth_to_foramen_mm, before.depth_to_foramen_mm - 1, 0.15);
}

TEST_F(Session, KeepsADrawnSection) {
    const Canal& before = *session_->traced().find("P");
    const CanalSample& place = nearest(before, middle_of(before));
    const DrawSection drawn{"P", place.point_P, 0.4, 0.8, 30};
    // A later edit of the same canal must not undo the earlier one.
    const Vec3 from = middle_of(before, 0.8);
    const auto edited = session_->edited({drawn, MovePoint{"P", from, from + Vec3(0.1, 0, 0)}});
    ASSERT_TRUE(edited) << edited.error().sentence();
    const CanalSample& after = nearest(*edited->find("P"), place.point_P);
    EXPECT_NEAR(after.diameter_short_mm, 0.4, 1e-9);
    EXPECT_NEAR(after.diameter_long_mm, 0.8, 1e-9);
    EXPECT_NEAR(std::remainder(after.long_axis_deg - 30, 180), 0, 3);
}

// A kink at a join is read as a bend that no instrument passes.
TEST_F(Session, LeadsACanalIntoAnotherWithoutAKink) {
    const Canal& joined = *session_->traced().find("MB2");
    ASSERT_TRUE(joined.joins);
    const Canal& real = *truth_->find("MB2");
    for (const CanalSample& sample : joined.samples) {
        if (std::abs(sample.depth_mm - joined.joins->depth_mm) > 1) continue;
        const CanalSample& there = nearest(real, sample.point_P);
        EXPECT_LT(sample.curvature_per_mm, there.curvature_per_mm + 0.3) << sample.depth_mm;
    }
}

TEST_F(Session, GivesTheSharedPartToTheCanalThatStays) {
    const Canal& joined = *session_->traced().find("MB2");
    ASSERT_TRUE(joined.joins);
    const std::string into = joined.joins->canal;
    const Vec3 foramen = session_->traced().find(into)->foramen_P;
    const auto edited = session_->edited({RemoveCanal{into}});
    ASSERT_TRUE(edited) << edited.error().sentence();
    EXPECT_EQ(edited->canals.size(), session_->traced().canals.size() - 1);
    EXPECT_FALSE(edited->find("MB2")->joins);
    EXPECT_LT((edited->find("MB2")->foramen_P - foramen).norm(), 0.25);
}

TEST_F(Session, AddsACanalAndTakesItOutAgain) {
    const Tooth& traced = session_->traced();
    const Canal db = *traced.find("DB");
    const std::vector<CanalEdit> edits{RemoveCanal{"DB"}, AddCanal{db.orifice_P, db.foramen_P}};
    const auto edited = session_->edited(edits);
    ASSERT_TRUE(edited) << edited.error().sentence();
    ASSERT_EQ(edited->canals.size(), traced.canals.size());
    const Canal* added = edited->find("DB");
    ASSERT_NE(added, nullptr);
    EXPECT_LT((added->foramen_P - db.foramen_P).norm(), 0.3);
    EXPECT_LT(sampled_line(*added).nearest(middle_of(db)).distance_mm, 0.1);
}

TEST_F(Session, DependsOnTheListOfEditsOnly) {
    const Canal& p = *session_->traced().find("P");
    const Vec3 from = middle_of(p);
    const std::vector<CanalEdit> one{MovePoint{"P", from, from + Vec3(0.2, 0, 0)}};
    std::vector<CanalEdit> two = one;
    two.push_back(RemoveCanal{"DB"});
    const auto first = session_->edited(two);
    const auto undone = session_->edited(one);
    const auto other = session_->edited({RemoveCanal{"P"}});
    const auto again = session_->edited(two);
    ASSERT_TRUE(first && undone && other && again);
    expect_same(*first, *again);
    expect_same(*session_->edited({}), session_->traced());
    EXPECT_EQ(undone->canals.size(), first->canals.size() + 1);
}

TEST_F(Session, RefusesWhatMakesNoSenseInOneSentenceAndStaysAsItWas) {
    const Canal& p = *session_->traced().find("P");
    const Vec3 on = middle_of(p);
    const CanalEdit good = RemoveCanal{"DB"};
    const std::vector<CanalEdit> bad{
        RemoveCanal{"nobody"},
        MovePoint{"P", on + Vec3(2, 0, 0), on},
        MovePoint{"P", on, on + Vec3(40, 0, 0)},
        MovePoint{"P", on, Vec3::Constant(std::nan(""))},
        DrawSection{"P", on, 0.5, 0.4, 0},
        DrawSection{"P", on, 0.1, 9, 0},
        DrawSection{"P", on, std::nan(""), 1, 0},
        AddCanal{on + Vec3(100, 0, 0), on},
    };
    for (const CanalEdit& edit : bad) {
        const auto refused = session_->edited({good, edit});
        ASSERT_FALSE(refused);
        EXPECT_EQ(refused.error().code, ErrorCode::BadInput);
        EXPECT_EQ(refused.error().where, "edit 2");
        EXPECT_FALSE(refused.error().remedy.empty());
    }
    EXPECT_TRUE(session_->edited({good}));
}

TEST(SectionOfOutline, HasTheEllipsesAxesAndDirection) {
    Canal canal;
    for (int n = 0; n < 9; ++n) {
        CanalSample sample;
        sample.point_P = Vec3(0, 0, 0.2 * n);
        canal.samples.push_back(sample);
    }
    // An ellipse of 0.3 by 0.6 mm whose long axis stands at 40 degrees from x; its polygon of 200
    // points lacks 2e-4 of the area.
    const double turn = 40 * std::numbers::pi / 180;
    std::vector<Vec3> outline;
    for (int n = 0; n < 200; ++n) {
        const double t = 2 * std::numbers::pi * n / 200;
        const double a = 0.3 * std::cos(t), b = 0.15 * std::sin(t);
        outline.emplace_back(0.1 + a * std::cos(turn) - b * std::sin(turn),
                             a * std::sin(turn) + b * std::cos(turn), 0.83);
    }
    const DrawSection section = section_of_outline(canal, outline);
    EXPECT_NEAR(section.diameter_long_mm, 0.6, 1e-3);
    EXPECT_NEAR(section.diameter_short_mm, 0.3, 1e-3);
    EXPECT_NEAR(section.long_axis_deg, 40, 1e-6);
    EXPECT_NEAR((section.centre_P - Vec3(0.1, 0, 0.83)).norm(), 0, 1e-9);
}

}  // namespace
}  // namespace anfract::truth
