#pragma once

#include <memory>
#include <string>
#include <variant>
#include <vector>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/geometry/vec.h"
#include "anfract/scan/volume.h"
#include "anfract/tooth/tooth.h"
#include "anfract/tracing/trace.h"

namespace anfract {

/// Draws a place of a canal's centreline to another place, where it then stays.
struct MovePoint {
    std::string canal;     ///< by its name before this edit
    Vec3 from_P{0, 0, 0};  ///< on or near the centreline, LPS mm
    Vec3 to_P{0, 0, 0};

    bool operator==(const MovePoint&) const = default;
};

/// Adds a canal that runs between two points; it joins the canal its end lies in, if any.
struct AddCanal {
    Vec3 orifice_P{0, 0, 0};
    Vec3 end_P{0, 0, 0};

    bool operator==(const AddCanal&) const = default;
};

/// Takes a canal out. One that joined it keeps the part the two shared.
struct RemoveCanal {
    std::string canal;

    bool operator==(const RemoveCanal&) const = default;
};

/// Fixes the section of a canal at one place: an ellipse in the plane across the centreline.
struct DrawSection {
    std::string canal;
    Vec3 centre_P{0, 0, 0};  ///< the centreline then runs through it
    double diameter_short_mm = 0;
    double diameter_long_mm = 0;
    double long_axis_deg = 0;  ///< counted as in `Canal`

    bool operator==(const DrawSection&) const = default;
};

using CanalEdit = std::variant<MovePoint, AddCanal, RemoveCanal, DrawSection>;

/// The section of a canal that has the area, the centroid and the second moments of a closed
/// outline (three points or more, in order, LPS mm) drawn across it. `canal` is its traced course;
/// the outline is taken in the plane across its centreline there. An outline without area gives a
/// section of no width, which `edited` refuses.
DrawSection section_of_outline(const Canal& canal, const std::vector<Vec3>& outline_P);

/// A traced tooth that can be corrected by hand: keeps what tracing prepared (the tooth's part of
/// the scan, its tissues, solid, evidence), so that an edit fits again only what it touches.
///
/// The state is the list of edits and nothing else: `edited` gives the same tooth for the same list
/// whatever was asked before. Undo is the list without its last edit; results of common beginnings
/// are kept, so that undo and redo cost nothing and one more edit costs one local fit.
///
///     Result<TraceSession> session = TraceSession::open(volume, request, progress);
///     std::vector<CanalEdit> edits{MovePoint{"MB", from_P, to_P}};
///     Result<Tooth> corrected = session->edited(edits);   // one local fit
///     edits.push_back(RemoveCanal{"D"});
///     corrected = session->edited(edits);                 // only the second edit is worked
///     edits.pop_back();
///     corrected = session->edited(edits);                 // undo: at once
///
/// The volume may go once the session is open. Not for use by two threads at once. About 30 bytes
/// a voxel of the tooth's box: 60 to 150 MB.
class TraceSession {
  public:
    /// Traces the tooth as `trace` does, with the same errors.
    static Result<TraceSession> open(const Volume& volume, const TraceRequest& request,
                                     const Progress& progress);

    /// As traced, without edits.
    const Tooth& traced() const;

    /// The tooth after these edits, in this order. A canal that an edit touched has `by_hand` set;
    /// what the user fixed stays: points within 0.02 mm, sections in width and direction.
    ///
    /// Errors: BadInput, with the edit's number (from 1) in `where`, for a name that no canal has,
    /// a point outside the tooth, a `from_P` more than 1 mm off the canal, a move of more than 3
    /// mm, or a section that is no ellipse between 0.02 and 5 mm. The session is as before then.
    Result<Tooth> edited(const std::vector<CanalEdit>& edits);

    TraceSession(TraceSession&&) noexcept;
    TraceSession& operator=(TraceSession&&) noexcept;
    ~TraceSession();

  private:
    struct State;
    explicit TraceSession(std::unique_ptr<State> state);
    std::unique_ptr<State> state_;
};

}  // namespace anfract
