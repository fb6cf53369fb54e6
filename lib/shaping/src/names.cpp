#include "anfract/shaping/order.h"

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

}  // namespace anfract
