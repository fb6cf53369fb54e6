#include "anfract/shaping/order.h"
#include "anfract/shaping/risk.h"

namespace anfract {

std::string to_string(StepAction action) {
    switch (action) {
        case StepAction::Scout:
            return "scout";
        case StepAction::Open:
            return "open";
        case StepAction::Shape:
            return "shape";
        case StepAction::Finish:
            return "finish";
    }
    return "";
}

std::string to_string(SizeLimit limit) {
    switch (limit) {
        case SizeLimit::Strain:
            return "strain";
        case SizeLimit::Wall:
            return "wall";
        case SizeLimit::Curve:
            return "curve";
        case SizeLimit::Force:
            return "force";
        case SizeLimit::Width:
            return "width";
        case SizeLimit::Tray:
            return "tray";
        case SizeLimit::Enough:
            return "enough";
    }
    return "";
}

std::string to_string(AlternativeOrder::Kind kind) {
    return kind == AlternativeOrder::Kind::Brief ? "brief" : "gentle";
}

std::string to_string(UnusedInstrument::Because because) {
    switch (because) {
        case UnusedInstrument::Because::Limit:
            return "limit";
        case UnusedInstrument::Because::Outdone:
            return "outdone";
        case UnusedInstrument::Because::Size:
            return "size";
        case UnusedInstrument::Because::Length:
            return "length";
        case UnusedInstrument::Because::Twin:
            return "twin";
        case UnusedInstrument::Because::Stock:
            return "stock";
    }
    return "";
}

std::string to_string(RiskKind kind) {
    switch (kind) {
        case RiskKind::Short:
            return "short";
        case RiskKind::Fracture:
            return "fracture";
        case RiskKind::Twist:
            return "twist";
        case RiskKind::Ledge:
            return "ledge";
        case RiskKind::ThinWall:
            return "thin-wall";
        case RiskKind::Shift:
            return "shift";
        case RiskKind::Overshoot:
            return "overshoot";
    }
    return "";
}

}  // namespace anfract
