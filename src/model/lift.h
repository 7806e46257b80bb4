/* Lift: what one person may lift, by the revised NIOSH equation. */
#ifndef ROWLOCK_MODEL_LIFT_H
#define ROWLOCK_MODEL_LIFT_H

/* Our choice, below the NIOSH limit: a panel is a poor grip far from the body. */
#define ONE_PERSON_KG 15.0
#define LIFT_CONSTANT_KG 23.0 /* NIOSH 94-110: the load constant */
#define MASS_TOLERANCE 1.10   /* masses are good to 10 per cent */
#define HAND_MM 20.0          /* room for a hand on each side of what is carried: our choice */

/* A lift as the revised NIOSH equation sees it (DHHS (NIOSH) 94-110): hands H before the
 * ankles, V above the floor, the load moved up by D, all centimetres; A degrees of twist. */
typedef struct Lift {
    double hands, height, travel, twist;
    double frequency; /* FM, 1 for a lift now and then */
    double grip;      /* CM: 1 good, 0.9 poor */
} Lift;

/* The recommended weight limit, kg; 0 where the hands are beyond 63 cm. */
double lift_limit_kg(const Lift *lift);

/* The same for a panel that is lifted flat from a bench, the hands at the middle of its short
 * sides. */
double lift_flat_limit_kg(double short_side_mm);

/* What such a panel may be reckoned to weigh for one person to lift it, also where its mass is off
 * by all that it may be. */
double lift_alone_kg(double short_side_mm);

#endif
