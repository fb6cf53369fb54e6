#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "anfract/passage/passage.h"
#include "anfract/shaping/order.h"
#include "anfract/shaping/risk.h"
#include "anfract/tooth/tooth.h"
#include "anfract/tray/device.h"

namespace anfract {

/// One instrument of the order, and the canal after it.
struct PlanStep {
    std::string device;
    DeviceKind kind = DeviceKind::HandFile;
    StepAction action = StepAction::Scout;
    double depth_mm = 0;         ///< how far the tip goes
    double stop_setting_mm = 0;  ///< depth_mm rounded down to what a stop can be set to
    std::string why;
    int passage = -1;                    ///< index into Plan::passages
    double diameter_after_mm = 0;        ///< of the canal at depth_mm, circle of equal area
    std::optional<double> wall_left_mm;  ///< thinnest dentine after the step
    std::optional<double> wall_left_depth_mm;
    double transport_mm = 0;  ///< largest shift of the canal's axis by this step
    double transport_depth_mm = 0;
    double removed_mm3 = 0;
    /// Of the canal's wall down to the working depth, by this step and those before; none in files
    /// of older programs.
    std::optional<double> untouched_share;
    int passes = 1;        ///< times it goes in, cutting a little each time
    double bound_mm = 0;   ///< length along which it fills the canal
    double life_used = 0;  ///< share of its life at the low estimate; 0 if it does not rotate
    std::optional<double> centring;  ///< smaller over larger removal where the shift is largest
};

/// The smallest instrument that reaches the working depth, or the one that gets furthest.
struct SmallestInstrument {
    std::optional<std::string> device;
    std::optional<int> passage;
    std::optional<double> reaches_mm;
    bool reaches_working_depth = false;
    std::string sentence;
};

/// Largest final size within the limits.
struct FinalSize {
    std::string device;
    double tip_mm = 0;
    double taper = 0;
    double depth_mm = 0;
    int passage = -1;
    SizeLimit limited_by = SizeLimit::Enough;
    std::string why;
};

/// The small file that checks the full depth before filling.
struct Recapitulation {
    std::string device;
    double depth_mm = 0;
    double stop_setting_mm = 0;
    int passage = -1;
    std::string why;
};

/// What a device that removes nothing is there for.
enum class Job { Rinse, Agitate, Dry, Fit, Compact, Fill, Coronal };

/// A device that removes nothing, in the canal as shaped.
struct PassiveDevice {
    Job job = Job::Rinse;
    std::string device;
    DeviceKind kind = DeviceKind::IrrigationCannula;
    double reaches_mm = 0;  ///< what the plan suggests, at most what the passage allows
    double stop_setting_mm = 0;
    StoppedBy stopped_by = StoppedBy::Foramen;
    bool chosen = false;  ///< the suggestion of its job
    std::optional<std::pair<double, double>>
        band_mm;  ///< where it may end within its diameter tolerance
    std::string why;
    int passage = -1;
};

/// The canal as shaped by the whole order, along depth.
struct LumenAfter {
    std::vector<double> depth_mm;
    std::vector<double> diameter_mm;
    std::vector<std::optional<double>> wall_min_mm;
};

/// A working depth measured at the chair, beside what the scan suggested.
struct MeasuredDepth {
    /// What the scan suggests for it: the working depth, or for a measurement through a join the
    /// depth short of the common foramen.
    double from_scan_mm = 0;
    double difference_mm = 0;             ///< measured less from_scan_mm
    std::optional<double> difference_sd;  ///< in standard deviations of the scan's depth
    std::vector<std::string> changes;     ///< sentences: what the plan does otherwise for it
};

/// Another order for the canal, simpler than the suggested one and riskier or less wide.
struct PlanAlternative {
    AlternativeOrder::Kind kind = AlternativeOrder::Kind::Brief;
    std::vector<PlanStep> order;
    std::string sentence;  ///< what it gains and costs
};

/// What may go wrong, as a probability.
struct PlanRisk {
    Risk risk;
    std::string sentence;
};

/// The risks of the suggested order, from sampling what is not known.
struct PlanRisks {
    int samples = 0;
    int unknown = 0;  ///< of them, those that could not be worked out; they count in no share
    std::uint64_t seed = 0;
    double any = 0, any_low = 0, any_high = 0;  ///< that at least one comes true
    std::vector<PlanRisk> risks;                ///< largest first
    std::string sentence;
};

/// The walls that files thin first, along depth, after the order: the inner one of each bend, and
/// in lower mesial roots the one toward the furcation where that is thinner.
struct WatchedWall {
    std::vector<double> depth_mm;
    std::vector<double> removed_mm;              ///< most that the order takes there, any direction
    std::vector<std::optional<double>> wall_mm;  ///< none where the canal is straight
    std::vector<bool> danger_zone;               ///< wall_mm is that toward the furcation
};

/// What the whole order takes away.
struct Removal {
    double volume_mm3 = 0;
    double untouched_share = 0;  ///< of the canal's wall, by area
    double transport_mm = 0;     ///< largest shift of the axis
    double transport_depth_mm = 0;
    std::optional<double> centring;  ///< there; 1 is perfect
    double bend_before_deg = 0;      ///< Schneider's angle in the plane where it is largest before
    double bend_after_deg = 0;
    std::optional<double> wall_mm;  ///< thinnest left where it was cut
    double wall_depth_mm = 0;
    Vec3 wall_toward_P{0, 0, 0};
    std::string wall_side;     ///< "D", "MB", ...: the clinical direction
    bool danger_zone = false;  ///< toward the furcation in a lower mesial root
    std::vector<std::string> sentences;
    std::optional<WatchedWall> along;  ///< none in files of older programs
};

/// Radius of the canal's wall and thickness of dentine over depth (rows) and direction (columns),
/// before and after the order; what is not known is none.
struct SheetBeforeAndAfter {
    std::vector<double> depth_mm;
    std::vector<double> theta_deg;
    std::vector<std::vector<double>> radius_before_mm, radius_after_mm;
    std::vector<std::vector<std::optional<double>>> wall_after_mm;
};

struct CanalPlan {
    std::string canal;
    std::optional<double> presence;
    double depth_to_foramen_mm = 0;
    std::optional<double> depth_sd_mm;
    double working_depth_mm = 0;  ///< a suggestion, to be verified; as measured if it was
    std::string working_depth_why;
    /// The canal joins another and is worked to the join only, at that depth along this canal.
    std::optional<Branching> ends_at_join;
    std::optional<MeasuredDepth> measured;
    SmallestInstrument smallest;
    std::optional<FinalSize> final_size;
    std::vector<PlanStep> order;
    std::optional<Recapitulation> recapitulation;
    std::vector<PassiveDevice> passive;
    LumenAfter lumen_after;
    std::vector<PlanAlternative> alternatives;
    std::vector<UnusedInstrument> unused;  ///< every cutting device without a step, and why
    std::optional<PlanRisks> risks;
    std::optional<Removal> removal;
    std::optional<SheetBeforeAndAfter> sheet;
    std::vector<std::string>
        notes;  ///< what is not known or cannot be done, and what would change it
};

/// Something to mind. Severity 0 good to know, 1 mind, 2 take care, 3 can do harm.
struct PlanWarning {
    std::string text;
    std::string reason;
    std::optional<std::string> canal;
    std::optional<double> depth_mm;
    int severity = 0;
    std::optional<int> passage;
};

/// A limit or habit the plan was made with, and its source.
struct PlanBasis {
    std::string what;
    std::string value;
    std::string source;
};

/// In which state of the canal a passage of the plan was found.
enum class CanalState { Native, During, Shaped };

struct PlanPassage {
    Passage passage;
    CanalState state = CanalState::Native;
};

/// The working plan of one tooth: the contents of an anfract.plan file.
///
/// It carries the tooth, the tray and the passages it rests on, so that a letter or a page needs
/// nothing else.
struct Plan {
    bool invented = false;
    Access access = Access::Axial;
    Tooth tooth;
    Tray tray;
    std::vector<PlanPassage> passages;
    std::vector<CanalPlan> canals;      ///< in the order of work: what joins a canal comes after it
    std::vector<PlanWarning> warnings;  ///< worst first
    std::vector<PlanBasis> basis;
    std::vector<std::string> cautions;
};

/// An instrument that takes less than this takes nothing to speak of.
constexpr double unnoticed_mm3 = 0.005;

/// True when the last instrument only finds the way: a hand file of at most 010 at the working
/// depth.
bool only_finds_the_way(const CanalPlan& plan);

std::string to_string(Job job);
std::string to_string(CanalState state);

}  // namespace anfract
