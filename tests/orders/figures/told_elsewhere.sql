-- One row an order, as somebody else would ask for it; nothing here is ours.
create view days as
  select e.*, o.number, o.revision, (e.moment at time zone '{zone}')::date as day from events e join orders o on o.pk = order_pk;
create view revisions as
  select number, revision, order_pk, max(pk) filter (kind = 'sent') as sent_pk,
         count(*) filter (kind in ('cancelled', 'superseded')) = 0 as uncalled
  from days group by all having sent_pk is not null;
create view firsts as
  select number, arg_min(day, pk) as day, arg_min(actor, pk) as actor, strftime(arg_min(day, pk), '%Y-%m') as month
  from days where kind = 'sent' group by number;
create view lasts as
  select number, arg_max(order_pk, sent_pk) as order_pk, arg_max(uncalled, sent_pk) as stands from revisions group by number;
create view readies as
  select l.number, arg_max(d.day, d.pk) as day from lasts l join days d using (order_pk)
  where d.kind in ('passed', 'conceded') and l.stands and not exists (
    select 1 from days x where x.order_pk = d.order_pk and x.pk > d.pk and x.kind in ('returned', 'our mistake'))
  group by l.number;
create view said as
  select number, unnest(from_json(report->'$.findings', '[{"rule":"VARCHAR","level":"VARCHAR","confirmed_by":"VARCHAR"}]')) as f
  from documents;
create view said_of as select number, f.rule as rule, f.level as level, f.confirmed_by as by_whom from said;
create view standing as select number from revisions group by number having bool_or(uncalled);
create view remakes as
  select f.number as first, arg_min(coalesce(nullif(x.cause, ''), 'not said'), x.pk) as cause, arg_min(coalesce(x.whose, ''), x.pk) as whose
  from orders x join orders f on x.remake_of = f.pk
  where x.sent and x.number in (select number from standing) group by all;
create view caught as
  select r.number, d.rule, max(d.level) as level from findings d join revisions r using (order_pk)
  where not exists (select 1 from said_of s where s.number = r.number and s.rule = d.rule and s.level in ('stop', 'ask'))
  group by all;
create view told as
  select l.number, f.month, cast(f.actor as text) as dispenser, l.stands,
    t.text->>'$.lab.name' as lab, t.text->>'$.frame.mount' as mount, t.text->>'$.purpose' = 'remake' as remake,
    coalesce(t.text->>'$.lenses.right.extra.design_name', t.text->>'$.lenses.left.extra.design_name') as design,
    r.day - f.day as days, cast(t.text->>'$.needed_on' as date) as needed, r.day as ready,
    (select count(*) from days q where q.number = l.number and q.kind = 'query') as queries,
    (select max(case s.level when 'stop' then 2 when 'ask' then 1 else 0 end) from said_of s where s.number = l.number) as worst,
    case when l.stands then m.cause end as cause, case when l.stands then m.whose end as whose,
    exists (select 1 from caught c where c.number = l.number) as caught
  from lasts l join firsts f using (number) join documents t using (order_pk)
  left join readies r on r.number = l.number left join remakes m on m.first = l.number;
-- The measures of each group, which the test puts into its question:
-- measures
  count(*) as sent, count(*) filter (coalesce(worst, 0) = 0) as clear, count(*) filter (worst = 1) as asked,
  count(*) filter (worst = 2) as stopped, count(*) filter (not stands) as withdrawn,
  count(*) filter (queries > 0) as queried, sum(queries) as queries, count(*) filter (caught) as caught,
  count(*) filter (remake) as again, count(*) filter (days < 0) as "clock back", count(*) filter (days >= 0) as ready,
  count(*) filter (days >= 0 and needed is not null) as due, count(*) filter (days >= 0 and ready <= needed) as "on time",
  count(*) filter (stands and not remake) as pairs, count(*) filter (stands and not remake and cause is not null) as remade,
  count(*) filter (stands and not remake and cause not in ('damage', 'wear', 'changed mind', 'prescription', 'not said')) as mistakes
