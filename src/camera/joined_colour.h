/* Joined colour: one colour from several bricks and photographs, each as good as it is sure. */
#ifndef ROWLOCK_CAMERA_JOINED_COLOUR_H
#define ROWLOCK_CAMERA_JOINED_COLOUR_H

#include "camera/photo_colours.h"

typedef struct JoinedColour {
    Lab lab;
    double stdev;    /* root mean square error, CIEDE2000 */
    double farthest; /* of the readings from what they come to, CIEDE2000 */
    int readings;
} JoinedColour;

/* `readings` of them, at least 1. What photographs have by chance becomes less with their number,
 * also seen from how far readings lie apart; what the fit has is the same in all. */
JoinedColour colour_join(const PlaceReading *reading, int readings);

#endif
