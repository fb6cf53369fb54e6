#pragma once

#include <algorithm>
#include <string>

#include "anfract/plan/make_plan.h"
#include "anfract/shaping/order.h"
#include "anfract/shaping/truncated.h"

namespace anfract {

/// One canal in the making: what is known of it, and where its lines go.
struct CanalCase {
    const Canal& canal;
    const Tray& tray;
    const PlanOptions& options;
    Lumen native;
    Order order;
    double wall_error_mm = 0.1;
    CanalPlan plan;
    std::vector<PlanPassage> passages;  ///< indices in `plan` count from here

    /// Below this the root thins out to its end, or another canal takes over; walls there are no
    /// finding.
    double wall_to_mm() const {
        const double root = native.depth_mm.back() - OrderOptions{}.wall_to_foramen_mm;
        return plan.ends_at_join ? std::min(root, plan.ends_at_join->depth_mm) : root;
    }

    /// The part of a lumen of this canal that is its own: all of it, or down to the join.
    Lumen own(const Lumen& lumen) const {
        return plan.ends_at_join ? down_to(lumen, plan.ends_at_join->depth_mm) : lumen;
    }

    /// What a device does in the canal as shaped.
    Result<Passage> rehearsed(const Device& device) const {
        RehearsalOptions rehearsal;
        rehearsal.access = options.access;
        rehearsal.friction = options.friction;
        return rehearse(order.shaped, device, rehearsal);
    }

    int add(Passage passage, CanalState state) {
        passages.push_back({std::move(passage), state});
        return int(passages.size()) - 1;
    }
};

/// Error of a wall's thickness: a voxel, but 0.1 to 0.3 mm (a caution of ours), 0.1 mm without a
/// scan.
double wall_error_mm(const Tooth& tooth);

/// With `decimals` digits after the point.
std::string number_text(double value, int decimals);
/// "20.4 mm"; `decimals` digits.
std::string mm_text(double value_mm, int decimals = 1);
std::string percent_text(double share, int decimals = 1);

/// Name of a device for people.
std::string name_of(const Device& device);

/// Fills the lines on instruments that cut: smallest, order, final size.
void write_order(CanalCase& canal);

/// One step of an order as a line of the plan, with its passage.
PlanStep line_of(CanalCase& canal, const OrderStep& step);

/// Samples the risks of the order.
Result<void> write_risks(CanalCase& canal, const OrderOptions& order, const Progress& progress);

/// Notes how canals that join are worked together (common practice, no source).
void write_joins(CanalCase& canal, const Tooth& tooth);

/// Says what the order takes away.
void write_removal(CanalCase& canal, const Tooth& tooth);

/// Finds the small file for the last check of the depth.
Result<void> write_recapitulation(CanalCase& canal);

/// Says what keeps the tray from reaching the working depth and which single item would change
/// that.
Result<void> write_missing(CanalCase& canal, const OrderOptions& options, const Progress& progress);

/// Finds what the devices that remove nothing do in the canal as shaped.
Result<void> write_passive(CanalCase& canal, const Progress& progress);

/// What to mind in this canal.
std::vector<PlanWarning> warnings_of(const CanalCase& canal, const Tooth& tooth);

/// The limits and habits behind a plan.
std::vector<PlanBasis> basis_of(const Tooth& tooth, const Tray& tray, const PlanOptions& options);

}  // namespace anfract
