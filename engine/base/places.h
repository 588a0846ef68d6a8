/* A walk over the pointers of something that lies in an arena: who writes it to a file learns where they
 * stand (model/image.h). Each room walks what it alone knows from the inside. */
#ifndef CW_BASE_PLACES_H
#define CW_BASE_PLACES_H

typedef enum cw_points_to {
    CW_INTO_ARENA,   /* a piece of the same arena, or NULL */
    CW_TO_UNIT,      /* a unit of measure (const cw_unit_info *), or NULL */
    CW_TO_FUNCTION,  /* a function of formulas (const cw_function *) */
    CW_OF_NO_MEANING /* something that only matters while the thing is being built */
} cw_points_to;

/* `place` is where the pointer itself stands. The owner of the walk keeps what it needs behind this. */
typedef struct cw_places {
    void (*visit)(struct cw_places *places, const void *place, cw_points_to to);
} cw_places;

#endif
