#include "advance.h"

#include "anfract/shaping/remove.h"
#include "anfract/shaping/truncated.h"

namespace anfract {
namespace {

/// True when going in again may help: what stopped it is a wall that it cuts.
bool cuts_its_way(const Passage& passage) {
    switch (passage.stopped_by) {
        case StoppedBy::Width:
            return true;
        case StoppedBy::Force:
        case StoppedBy::Buckling:
            return !passage.binds.empty();
        default:
            return false;
    }
}

}  // namespace

bool arrives(const Passage& passage, const Lumen& lumen, double depth_mm) {
    return passage.reaches_mm >= depth_mm - lumen.spacing_mm() - 0.05;
}

bool rotates(const Device& device) {
    return device.kind == DeviceKind::RotaryFile || device.kind == DeviceKind::ReciprocatingFile;
}

Result<Advance> advance_to(const Lumen& lumen, const Device& device, double depth_mm,
                           int most_passes, const RehearsalOptions& options) {
    Advance advance;
    advance.lumen = lumen;
    double last_mm = 0;
    for (;; ++advance.passes) {
        // In a canal that ends at the depth the end of a free passage is the step itself.
        Result<Passage> free = rehearse(down_to(advance.lumen, depth_mm), device, options);
        if (!free) return tl::unexpected(free.error());
        advance.passage = std::move(*free);
        advance.arrives = arrives(advance.passage, lumen, depth_mm);
        // A pass that brings less than a quarter of a millimetre is not worth another.
        const bool gains = advance.passage.reaches_mm > last_mm + 0.25;
        if (advance.arrives || !cuts_its_way(advance.passage) || !gains ||
            advance.passes >= most_passes || !device.cuts()) {
            return advance;
        }
        last_mm = advance.passage.reaches_mm;
        advance.lumen = after(advance.lumen, device, advance.passage);
    }
}

}  // namespace anfract
